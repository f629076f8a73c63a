"""Measured climates of the stores in which cars are laid up."""

import datetime
import uuid
from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from maintenance.engine.ageing.climate import StoreClimate, grade_climate
from maintenance.engine.ageing.climate_record import (
    LONGEST_GAP_DAYS,
    MeasuredDays,
    measured_climate,
    measured_in,
    month_by_month,
)
from maintenance.engine.days import from_day, to_day
from maintenance.models import KeptIn, StoreClimateRecord, Vehicle

_A_YEAR = 365


class Days(NamedTuple):
    """Part of a lay-up `[start, end)` in days since 1970-01-01; `end` is None while it lasts."""

    start: int
    end: int | None
    climate: StoreClimate | None


class MeasuredClimates:
    """The climate of each lay-up whose store is measured; one query for all the cars."""

    def __init__(self, cars: Iterable[Vehicle]) -> None:
        self._kept: dict[uuid.UUID, list[KeptIn]] = {}
        self._climates: dict[uuid.UUID, StoreClimate] = {}
        self._pieces: dict[tuple[uuid.UUID, bool, int, int], StoreClimate] = {}
        kept = KeptIn.objects.filter(vehicle__in=cars).select_related("store")
        for row in kept.order_by("from_on"):
            self._kept.setdefault(row.vehicle_id, []).append(row)

    def of_lay_up(
        self,
        vehicle: uuid.UUID,
        from_on: datetime.date,
        to_on: datetime.date | None,
        grade: str,
    ) -> list[Days]:
        """Return a lay-up in order of days: a month at a time where its store was measured.

        Days without a reading have no climate and keep their grade. A lay-up that lasts goes on
        as the latest year of it that was measured.
        """
        start, end = to_day(from_on), None if to_on is None else to_day(to_on)
        record = self._record(vehicle, from_on)
        if record is None or not record.days:
            return [Days(start, end, None)]
        outdoors = record.outdoors or grade_climate(grade).outdoors
        climate = replace(self._climate(record), outdoors=outdoors)
        last = int(climate.day[-1])
        now = (
            measured_in(climate, max(start, last + 1 - _A_YEAR), last + 1) if end is None else None
        )
        if end is None and now is None:
            return [Days(start, None, None)]
        # The last reading's day belongs to the time to come, which no plan can cut before today.
        until = last if end is None else end
        found = month_by_month(climate, start, until) if until > start else []
        days = [Days(each.start, each.end, self._once(record, each)) for each in found]
        if now is not None:
            says = f"{now.source}; days to come as the latest year of it"
            days.append(Days(max(start, until), None, replace(now, source=says)))
        return days

    def _once(self, record: StoreClimateRecord, days: MeasuredDays) -> StoreClimate | None:
        """Return one and the same climate for all cars that stood there in those days."""
        if days.climate is None:
            return None
        key = (record.id, days.climate.outdoors, days.start, days.end)
        return self._pieces.setdefault(key, days.climate)

    def _record(self, vehicle: uuid.UUID, on: datetime.date) -> StoreClimateRecord | None:
        found = [
            row.store
            for row in self._kept.get(vehicle, ())
            if row.from_on <= on and (row.to_on is None or on < row.to_on)
        ]
        return found[-1] if found else None

    def _climate(self, record: StoreClimateRecord) -> StoreClimate:
        if record.id not in self._climates:
            self._climates[record.id] = climate_of(record)
        return self._climates[record.id]


def climate_of(record: StoreClimateRecord) -> StoreClimate:
    """Return a store's record as a climate; a gap of more than a fortnight splits it."""
    day = np.array(record.days, dtype=np.int64)
    temperature = np.array(record.temperature_c, dtype=np.float64)
    humidity = np.array(record.humidity, dtype=np.float64)
    cuts = np.flatnonzero(np.diff(day) > LONGEST_GAP_DAYS) + 1
    parts = [
        measured_climate(*columns, outdoors=record.outdoors, name=record.store)
        for columns in zip(
            np.split(day, cuts), np.split(temperature, cuts), np.split(humidity, cuts), strict=True
        )
    ]
    weight = np.concatenate([part.weight_days for part in parts])
    source = f"measured in {record.store}, {from_day(day[0])} to {from_day(day[-1])}"
    return StoreClimate(record.store, weight, temperature, humidity, day, record.outdoors, source)
