"""Parts followed from place to place, one service event after the other.

A place is named by its car's registration, kind and position. What is said of a part is kept with
the part, so that nothing has to be looked up again when it goes elsewhere.
"""

from tests.reference.standing import FOREVER, Period, Standing


class Part:
    """A part since it was new: where it has been, and what was done to it.

    On an unused shelf there is none until something is heard of one.
    """

    def __init__(self, where, missing=False, unused=False):
        self.came = [(None, where)]
        self.missing = missing or unused
        self.unused = unused
        self.deeds = []
        self.first_heard_of = None

    def hear(self, entry, how):
        self.deeds.append((entry, how))
        if self.unused:
            self.unused = self.missing = False
        if self.first_heard_of is None:
            self.first_heard_of = entry.day

    def place_on(self, day, shelves):
        """Where it was at the beginning of a day; None if it is not known to have been anywhere."""
        where = None
        for came, place in self.came:
            if came is None and place in shelves:
                came = self.first_heard_of if self.first_heard_of is not None else FOREVER
            if came is None or came <= day:
                where = place
        return where


class Walk:
    """All places of some cars, with the part in each, while events are taken one by one."""

    def __init__(self, histories, grades):
        self.histories = histories
        self.parts = {
            (mark, *component): Part((mark, *component), unused=(mark, *component) in grades)
            for mark, history in histories.items()
            for component in history.assemblies
        }

    def all_events(self, cars):
        """Take what happened on some cars, day by day; of one day in the order of the cars."""
        events = [
            (entries[0].day, mark, entries)
            for mark in cars
            for entries in self.histories[mark].events
            if entries
        ]
        for _, mark, entries in sorted(events, key=lambda event: event[0]):
            self.event(mark, entries)

    def event(self, mark, entries):
        moves = [entry for entry in entries if entry.to is not None]
        for entry in entries:
            if moves and entry is moves[0]:
                self._exchange(mark, moves)
            if entry.to is None:
                self._entry(mark, entry)

    def _exchange(self, mark, moves):
        """Take all parts off first, then put each where it goes."""
        in_hand = []
        for move in moves:
            where = (mark, *move.component)
            self.parts[where].hear(move, "own")
            in_hand.append((move, self.parts[where]))
            self.parts[where] = Part(where, missing=True)
        for move, part in in_hand:
            part.came.append((move.day, move.to))
            self.parts[move.to] = part

    def _entry(self, mark, entry):
        history = self.histories[mark]
        for component in history.assemblies:
            where = (mark, *component)
            if history.is_new_through(entry, component):
                self.parts[where] = Part(where)
                self.parts[where].hear(entry, "new")
            elif history.is_removed_through(entry, component):
                self.parts[where].missing, self.parts[where].unused = True, False
            elif entry.component == component:
                self.parts[where].hear(entry, "own")


def shelves(cars):
    """The places that are shelves, with the storage grade of each."""
    return {
        (car.get("registration"), row["kind"], row.get("position") or ""): row["storage"]
        for car in cars
        for row in car["components"]
        if row.get("storage")
    }


class PartStanding(Standing):
    """When a part stood: with each car while it was on it, and all the time on a shelf."""

    def __init__(self, part, grades, standing_of, on):
        self.part, self.grades, self.standing_of = part, grades, standing_of
        runs = self._walked(self._first_day(), self._last_change())
        self.lay_ups = [*runs, *self._from_now_on()]
        self.join()

    def _first_day(self):
        begins = [came for came, _ in self.part.came[1:]]
        if self.part.first_heard_of is not None:
            begins.append(self.part.first_heard_of)
        for _, place in self.part.came:
            if place not in self.grades:
                begins += [row.start for row in self.standing_of(place[0]).lay_ups]
        return min(begins, default=0)

    def _last_change(self):
        (came, place) = self.part.came[-1]
        if came is None and place in self.grades:
            return self.part.first_heard_of
        return came

    def _grade(self, day):
        place = self.part.place_on(day, self.grades)
        if place is None:
            return None
        return self.grades.get(place) or self.standing_of(place[0]).grade(day)

    def _walked(self, first, until):
        runs = []
        for day in range(first, first if until is None else until):
            grade = self._grade(day)
            if grade is None:
                continue
            if runs and runs[-1].end == day and runs[-1].grade == grade:
                runs[-1] = Period(runs[-1].start, day + 1, grade)
            else:
                runs.append(Period(day, day + 1, grade))
        return runs

    def _from_now_on(self):
        place, since = self.part.came[-1][1], self._last_change()
        if place in self.grades:
            return [] if since is None else [Period(since, FOREVER, self.grades[place])]
        return [
            Period(max(row.start, since), row.end, row.grade)
            for row in self.standing_of(place[0]).lay_ups
            if row.end > since
        ]


class PartOdometer:
    """How far a part has gone: as far as each car while it was on it."""

    def __init__(self, part, grades, odometer_of):
        self.part, self.grades, self.odometer_of = part, grades, odometer_of
        self.now = None
        if part.came[-1][1] not in grades:
            self.now = odometer_of(part.came[-1][1][0])
        self.readings = self.now.readings if self.now else []
        self.rate, self.slow, self.fast = (
            (self.now.rate, self.now.slow, self.now.fast) if self.now else (None, None, None)
        )

    def gone(self, first, until, rate=None):
        far = 0
        stays = [*self.part.came, (FOREVER, None)]
        for (came, place), (left, _) in zip(stays, stays[1:], strict=False):
            start = first if came is None else max(first, came)
            end = min(until, left)
            if start < end and place not in self.grades:
                onward = rate if left == FOREVER else None
                far += self.odometer_of(place[0]).gone(start, end, onward)
        return far

    def at(self, when):
        """In the terms of the car it is on: what that showed when it came, and on from there."""
        since = self.part.came[-1][0]
        if when >= since:
            return self.now.at(when)
        return self.now.at(since) - self.gone(when, since)

    def reading_at(self, distance):
        return self.now.reading_at(distance)
