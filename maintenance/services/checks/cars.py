"""What the checks need to know of one car."""

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import nearest, unknown
from maintenance.engine.stated_days import StatedDay
from maintenance.services.drafts import Place
from maintenance.services.refusals import Problem

#: A car may have stood so long between the works and its first registration.
YEARS_BEFORE_REGISTRATION = 5


@dataclass(frozen=True, kw_only=True)
class Car:
    """One car: its first day, its odometer, and its components with their assemblies."""

    registration: str
    odometer_unit: str
    odometer_digits: int
    built_on: datetime.date | None = None
    first_registered_on: datetime.date | None = None
    components: Mapping[Place, Place | None] = field(default_factory=dict)
    other_car: Callable[[str], "Car | None"] = lambda registration: None
    """Looks up another car of the collection, to which a part may go."""

    @property
    def first_day(self) -> datetime.date | None:
        """The day before which nothing can have happened to the car, if that is known."""
        if self.built_on is not None or self.first_registered_on is None:
            return self.built_on
        year = self.first_registered_on.year - YEARS_BEFORE_REGISTRATION
        try:
            return self.first_registered_on.replace(year=year)
        except ValueError:  # 29 February
            return self.first_registered_on.replace(year=year, day=28)

    def is_part_of(self, part: Place, assembly: Place) -> bool:
        """Say whether a component belongs to an assembly, directly or through another one."""
        above = self.components.get(part)
        seen = {part}
        while above is not None and above not in seen:
            if above == assembly:
                return True
            seen.add(above)
            above = self.components.get(above)
        return False


def day_problems(
    pointer: str, days: StatedDay, car: Car, today: datetime.date
) -> Iterator[Problem]:
    """Refuse a day after today or before the car was built; a span, if all of it is."""
    first = car.first_day
    if days.earliest > today:
        yield Problem(pointer, f"{days.earliest} is after today, {today}; check the day")
    elif first is not None and days.latest < first:
        yield Problem(pointer, f"{days.latest} is {_before(car)}; check the day")


def _before(car: Car) -> str:
    if car.built_on is not None:
        return f"before the car was built, {car.built_on}"
    return (
        f"more than {YEARS_BEFORE_REGISTRATION} years before the car was first registered, "
        f"{car.first_registered_on}, and built_on is not known"
    )


def one_day(day: datetime.date) -> StatedDay:
    """Return a known day as the span that the checks take."""
    return StatedDay(day, day)


def kind_problems(pointer: str, kind: str) -> Iterator[Problem]:
    """Refuse a component kind that the catalogue does not know."""
    if not kind:
        yield Problem(pointer, "is missing")
    elif kind not in catalogue().kinds:
        yield Problem(pointer, unknown("component kind", kind, catalogue().kinds.keys()))


def place_problems(pointer: str, place: Place, car: Car) -> Iterator[Problem]:
    """Refuse a component that the car does not have, naming the nearest one it has."""
    problem = next(kind_problems(f"{pointer}/kind", place.kind), None)
    if problem is not None:
        yield problem
    elif place not in car.components:
        yield _not_on_the_car(pointer, place, car)


def _not_on_the_car(pointer: str, place: Place, car: Car) -> Problem:
    positions = [have.position for have in car.components if have.kind == place.kind]
    text = f"{car.registration} has no component {str(place)!r}"
    if positions:
        near = nearest(place.position, positions) or min(positions)
        text += f"; the nearest it has is {str(Place(place.kind, near))!r}"
        return Problem(f"{pointer}/position", text)
    near_place = nearest(str(place), [str(have) for have in car.components])
    if near_place is not None:
        text += f"; the nearest it has is {near_place!r}"
    return Problem(f"{pointer}/kind", f"{text}; add the component first if the car has it")
