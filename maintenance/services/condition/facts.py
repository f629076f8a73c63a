"""What is on record of one component that an estimate of its state needs."""

import datetime
from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

import numpy as np

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing.climate import StoreClimate, grade_climate
from maintenance.engine.columns import TASKS
from maintenance.engine.days import NEVER, NO_DAY, from_day, to_day
from maintenance.engine.due import RULE
from maintenance.engine.journeys import Stop
from maintenance.engine.lives import Stay, stays
from maintenance.engine.resets import RENEW, latest
from maintenance.models import Component, Entry, LayUp, SpecificationLine
from maintenance.queries.climates import MeasuredClimates
from maintenance.queries.column_steps import current
from maintenance.queries.due_answers import Answers


class Spell(NamedTuple):
    """Days a car spent in one way; `climate` is None on days in use."""

    start: int
    end: int
    climate: StoreClimate | None
    preparations: tuple[str, ...] = ()

    @property
    def days(self) -> int:
        """Return its length [days]."""
        return self.end - self.start


class Measured(NamedTuple):
    """A measurement of a component."""

    day: int
    quantity: str
    value: float


class Facts:
    """The facts of one component as known on the day of the answers."""

    def __init__(self, answers: Answers, component: Component) -> None:
        self.component = component
        self._cars = {car.id: car for car in answers.history.vehicles}
        self._components = answers.history.components
        self._entries = answers.history.entries
        self.vehicle = self._cars[component.vehicle_id]
        self.on = to_day(answers.on)
        self._shared = answers.answer.shared
        self._row = [each.id for each in answers.history.components].index(component.id)
        self._clock = answers.answer.by_rule.time.clock
        self._answer = answers.answer

    @cached_property
    def _renewal(self) -> int:
        """Return the row of the entry that last renewed it, -1 where none is on record."""
        done = self._shared.done
        row = int(latest(done, done.action == RENEW, np.array([self._row]))[0])
        return int(done.entry[row]) if row >= 0 else -1

    @property
    def renewed(self) -> int | None:
        """Return the day of the last renewal."""
        if self._renewal < 0:
            return None
        return int(self._shared.batch.entries.day[self._renewal])

    @cached_property
    def renewal_due(self) -> bool:
        """Return whether its renewal is due on the day asked about, or no renewal is on record."""
        answer, batch = self._answer, self._shared.batch
        for row in np.flatnonzero((answer.origin == RULE) & (answer.component == self._row)):
            rule = batch.items.rule[answer.row[row]]
            if TASKS[int(batch.rules.task[rule])] != "renew" or batch.rules.laid_up_only[rule]:
                continue
            reached = min(answer.due[row], answer.standings.overdue_from[row])
            if answer.standings.no_record[row] or reached <= self.on:
                return True
        return False

    @property
    def made(self) -> int | None:
        """Return the earliest day on which the part fitted last can have been made."""
        if self._renewal < 0:
            return None
        made = int(self._shared.batch.entries.manufactured[self._renewal])
        return None if made == NO_DAY else made

    def measured(self, *quantities: str) -> list[Measured]:
        """Return measurements since the last renewal, in the order they were made."""
        table = self._shared.batch.measurements
        names = sorted(catalogue().quantities)
        mine = (table.component == self._row) & (table.day <= self.on)
        if self._renewal >= 0:
            # What was entered before the renewal, of its day too, was read off what came out.
            entries = self._shared.batch.entries
            day, order = entries.day[self._renewal], entries.order[self._renewal]
            mine &= (table.day > day) | ((table.day == day) & (table.order > order))
        rows = np.flatnonzero(mine)
        found = [
            Measured(int(table.day[row]), names[table.quantity[row]], float(table.value[row]))
            for row in rows[np.lexsort((table.order[rows], table.day[rows]))]
        ]
        return [each for each in found if each.quantity in quantities]

    def spells(self, since: int) -> list[Spell]:
        """Return how the part spent the days from one up to the day asked about, in order.

        It spent them as the cars did that it was on, or on a shelf.
        """
        spells, day = [], since
        for stay in self._stays:
            start, end = max(stay.start, since), min(stay.end, self.on)
            if end <= start:
                continue
            if start > day:
                spells.append(Spell(day, start, None))
            spells.append(Spell(start, end, stay.climate, stay.preparations))
            day = end
        if day < self.on:
            spells.append(Spell(day, self.on, None))
        return spells

    @property
    def standing(self) -> Spell | None:
        """Return the part of a lay-up, or of its time on a shelf, on the day asked about."""
        return self.stay_on(self.on)

    def stay_on(self, day: int) -> Spell | None:
        """Return the part of a lay-up, or of its time on a shelf, on a day."""
        return next((each for each in self._stays if each.start <= day < each.end), None)

    @cached_property
    def _period(self) -> tuple[int, int] | None:
        """Return the bounds of the present standing: touching lay-ups are one."""
        now = self.standing
        if now is None:
            return None
        start, end = now.start, now.end
        for each in reversed(self._stays):
            start = each.start if each.end == start else start
        for each in self._stays:
            end = each.end if each.start == end else end
        return start, end

    @property
    def standing_since(self) -> int | None:
        """Return the first day of the present standing, None in use."""
        return None if self._period is None else self._period[0]

    @property
    def days_to_stand(self) -> int | None:
        """Return the length of the present standing, None where its end is not known."""
        if self._period is None or self._period[1] == NEVER:
            return None
        return self._period[1] - self._period[0]

    @property
    def cared_for(self) -> int:
        """Return the day of the last storage care of it in this standing, or its start."""
        items = self._shared.batch.items
        care = (items.component == self._row) & self._shared.batch.rules.laid_up_only[items.rule]
        days = self._clock.start[care]
        began = self.standing_since
        return max(int(days.max(initial=NO_DAY)), int(NO_DAY) if began is None else began)

    def prepared(self, slug: str) -> int | None:
        """Return the first day of the latest lay-up before which something was done."""
        done = [each for each in self._stays if slug in each.preparations]
        if not done:
            return None
        start = done[-1].start
        for each in reversed(done):
            start = each.start if each.end == start else start
        return start

    @cached_property
    def _stays(self) -> list[Spell]:
        stops = self._shared.journeys.stops.get(self._row, (Stop(self._row, int(NO_DAY)),))
        seen = self._shared.journeys.seen.get(self._row, int(NO_DAY))
        places = stays(stops, seen, self._shared.batch.components.storage)
        return [spell for stay in places for spell in self._during(stay)]

    def _during(self, stay: Stay) -> Iterator[Spell]:
        """Yield how the days of a stay in one place were spent, as far as it stood."""
        place = self._components[stay.place]
        if place.storage:
            # No weight rests on what lies on a shelf.
            climate = grade_climate(place.storage)
            yield Spell(stay.start, stay.end, climate, ("off-the-ground",))
            return
        car = self._cars[place.vehicle_id]
        climates = MeasuredClimates([car])
        for row in current(LayUp, [car]).filter(from_on__lte=from_day(self.on)).order_by("from_on"):
            for spell in self._spells_of(row, climates):
                start, end = max(spell.start, stay.start), min(spell.end, stay.end)
                if start < end:
                    yield spell._replace(start=start, end=end)

    def _spells_of(self, row: LayUp, climates: MeasuredClimates) -> Iterator[Spell]:
        for part in climates.of_lay_up(row.vehicle_id, row.from_on, row.to_on, row.storage):
            end = int(NEVER) if part.end is None else part.end
            climate = part.climate or grade_climate(row.storage)
            yield Spell(part.start, end, climate, tuple(row.preparations))

    def specified(self, item: str) -> str | None:
        """Return what the car's specification sheet says of an item."""
        lines = SpecificationLine.objects.filter(vehicle=self.vehicle, item__iexact=item)
        return lines.values_list("value", flat=True).first()

    def entries(self, *actions: str) -> list[Entry]:
        """Return what was done to it since the last renewal, that renewal included.

        Wherever it was then: what was done in its place before it came is another part's.
        """
        rows = self._shared.done.entry[self._shared.done.component == self._row]
        own = [row for row in rows.tolist() if self._shared.is_own(row, self._row)]
        done = Entry.objects.filter(
            pk__in=[self._entries[row] for row in own], action__in=actions
        ).select_related("event")
        if self.renewed is not None:
            done = done.filter(event__on__gte=from_day(self.renewed))
        return list(done.order_by("event__on", "sequence"))

    def date(self, day: int) -> datetime.date:
        """Return a day of the engine as a date."""
        return from_day(day)
