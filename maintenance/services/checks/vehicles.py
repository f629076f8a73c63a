"""What is wrong with the description of a car."""

import datetime
from collections.abc import Iterator
from decimal import Decimal

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import GRADES
from maintenance.engine.vin import check_digit_warning
from maintenance.services.checks.cars import Car
from maintenance.services.checks.figures import number_problems, text_problems
from maintenance.services.drafts import ComponentDraft, Place, VehicleDraft
from maintenance.services.refusals import Problem

ODOMETER_UNITS = ("km", "mi")
ODOMETER_DIGITS = (5, 6)
NOMINAL_VOLTAGES = (6, 12)
_LONGEST = {"registration": 20, "make": 60, "model": 60, "chassis_number": 40}
_REQUIRED = ("registration", "make", "model")
#: The first motor car was patented in January 1886 and driven the year before (common knowledge).
_FIRST_MOTOR_CAR = 1885
_MOST_A_YEAR = Decimal(200_000)


def vehicle_problems(draft: VehicleDraft, today: datetime.date) -> Iterator[Problem]:
    """Tell what is wrong with a car's description by itself."""
    for name, longest in _LONGEST.items():
        yield from text_problems(
            f"/{name}", getattr(draft, name), longest=longest, required=name in _REQUIRED
        )
    yield from _choice_problems(draft)
    yield from _birth_problems(draft, today)
    yield from _season_problems(draft)
    expected = draft.expected_annual_distance
    yield from number_problems(
        "/expected_annual_distance",
        None if expected is None else Decimal(expected),
        decimals=0,
        below=_MOST_A_YEAR,
        unit=f"{draft.odometer_unit} a year",
    )


def vehicle_warnings(draft: VehicleDraft) -> list[str]:
    """Tell what is odd about a car's description and yet no reason to refuse it."""
    day = draft.built_on or draft.first_registered_on
    warning = check_digit_warning(draft.chassis_number, year=day.year if day else None)
    return [f"chassis number: {warning}"] if warning else []


def car_of_draft(draft: VehicleDraft, components: dict[Place, Place | None]) -> Car:
    """Return what the other checks need to know of a car that is described by a draft.

    An impossible number of digits, told of by `vehicle_problems`, counts as the most there can
    be: ten to the power of what somebody wrote could take for ever to work out.
    """
    known = draft.odometer_digits in ODOMETER_DIGITS
    return Car(
        registration=draft.registration,
        odometer_unit=draft.odometer_unit,
        odometer_digits=draft.odometer_digits if known else max(ODOMETER_DIGITS),
        built_on=draft.built_on,
        first_registered_on=draft.first_registered_on,
        components=components,
    )


def component_problems(draft: ComponentDraft, car: Car) -> Iterator[Problem]:
    """Tell what is wrong with a component that `car` already counts among its own."""
    yield from text_problems("/position", draft.place.position, longest=60)
    if draft.storage and draft.storage not in GRADES:
        yield Problem("/storage", unknown("storage grade", draft.storage, GRADES))
    if draft.assembly is None:
        return
    if draft.storage:
        yield Problem("/assembly", "is for places on the car; a shelf belongs to no assembly")
        return
    if draft.assembly == draft.place or car.is_part_of(draft.assembly, draft.place):
        yield Problem(
            "/assembly",
            f"{draft.place} would be a part of itself; name the assembly that holds it",
        )
    elif draft.assembly not in car.components:
        yield Problem(
            "/assembly",
            f"{car.registration} has no component {str(draft.assembly)!r}; add the assembly first",
        )


def _choice_problems(draft: VehicleDraft) -> Iterator[Problem]:
    if draft.odometer_unit not in ODOMETER_UNITS:
        yield Problem(
            "/odometer_unit", unknown("odometer unit", draft.odometer_unit, ODOMETER_UNITS)
        )
    if draft.odometer_digits not in ODOMETER_DIGITS:
        yield Problem(
            "/odometer_digits",
            f"{draft.odometer_digits} is not 5 or 6; count the whole digits, without tenths",
        )
    if draft.nominal_voltage is not None and draft.nominal_voltage not in NOMINAL_VOLTAGES:
        yield Problem("/nominal_voltage", f"{draft.nominal_voltage} is not 6 or 12")
    regimes = catalogue().regimes
    if draft.inspection_regime and draft.inspection_regime not in regimes:
        yield Problem(
            "/inspection_regime",
            unknown("inspection regime", draft.inspection_regime, regimes.keys()),
        )


def _birth_problems(draft: VehicleDraft, today: datetime.date) -> Iterator[Problem]:
    for name in ("built_on", "first_registered_on"):
        day = getattr(draft, name)
        if day is None:
            continue
        if day > today:
            yield Problem(f"/{name}", f"{day} is after today, {today}; check the day")
        elif day.year < _FIRST_MOTOR_CAR:
            yield Problem(f"/{name}", f"{day} is before the first motor car; check the year")
    if (
        draft.built_on is not None
        and draft.first_registered_on is not None
        and draft.first_registered_on < draft.built_on
    ):
        yield Problem(
            "/first_registered_on",
            f"{draft.first_registered_on} is before the car was built, {draft.built_on}",
        )


def _season_problems(draft: VehicleDraft) -> Iterator[Problem]:
    months = {
        "season_from_month": draft.season_from_month,
        "season_to_month": draft.season_to_month,
    }
    given = {name: month for name, month in months.items() if month is not None}
    if len(given) == 1:
        (missing,) = months.keys() - given.keys()
        yield Problem(f"/{missing}", "is missing; a season has a first and a last month")
    for name, month in given.items():
        if not 1 <= month <= 12:
            yield Problem(f"/{name}", f"{month} is no month; give 1 to 12")
