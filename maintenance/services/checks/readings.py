"""Which odometer readings contradict each other, in words."""

from collections.abc import Sequence
from decimal import Decimal

from maintenance.engine.reading_order import MOST_KM_A_YEAR, Odometer, Shown, contradictions
from maintenance.services.checks.figures import shown
from maintenance.services.refusals import Problem


def contradiction_problems(
    *, before: Sequence[Shown], after: Sequence[Shown], odometer: Odometer
) -> list[Problem]:
    """Tell each contradiction among the readings `after` that was not there among `before`."""
    known = {_names(pair) for pair in contradictions(before, odometer)}
    return [
        _problem(earlier, later, odometer)
        for earlier, later in contradictions(after, odometer)
        if _names((earlier, later)) not in known
    ]


def _names(pair: tuple[Shown, Shown]) -> tuple[tuple[str, Decimal], ...]:
    return tuple((one.record, one.value) for one in pair)


def _problem(before: Shown, after: Shown, odometer: Odometer) -> Problem:
    first, second = (
        f"{shown(one.value)} {odometer.unit} ({one.record})" for one in (before, after)
    )
    if after.value >= before.value:
        text = f"{second} and {first} are of one day and further apart than a day's drive"
    else:
        text = (
            f"{second} is below the earlier {first}, and neither the passing of the last digit "
            f"(under {MOST_KM_A_YEAR} km a year) nor a changed instrument explains it"
        )
    return Problem(
        after.pointer or before.pointer,
        f"{text}; correct the one that is wrong, or record the change of the instrument",
    )
