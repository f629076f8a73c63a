"""When a car stands: its lay-ups, and the standing periods that touching ones make."""

from dataclasses import dataclass

from tests.reference.dates import day

FOREVER = 10**9


@dataclass(frozen=True)
class Period:
    start: int
    end: int
    grade: str = ""

    def holds(self, on):
        return self.start <= on < self.end

    @property
    def known_end(self):
        return None if self.end == FOREVER else self.end


class Standing:
    def __init__(self, lay_ups, on):
        self.lay_ups = sorted((_period(row, on) for row in lay_ups), key=lambda row: row.start)
        self.join()

    def join(self):
        self.periods = []
        for row in self.lay_ups:
            if self.periods and self.periods[-1].end == row.start:
                self.periods[-1] = Period(self.periods[-1].start, row.end)
            else:
                self.periods.append(Period(row.start, row.end))

    def grade(self, on):
        """The storage grade of a laid-up day, None on a day in use."""
        for row in self.lay_ups:
            if row.start <= on < row.end:
                return row.grade
        return None

    def period(self, on):
        return next((row for row in self.periods if row.holds(on)), None)

    def laid_up_days(self, first, until):
        return sum(max(0, min(row.end, until) - max(row.start, first)) for row in self.lay_ups)

    def days_in_use(self, first, until):
        return max(0, until - first) - self.laid_up_days(first, until)


def _period(row, on):
    end = day(row.get("to"))
    if end is None:
        expected = day(row.get("expected_to"))
        end = expected if expected is not None and expected > on else FOREVER
    return Period(day(row["from"]), end, row["storage"])
