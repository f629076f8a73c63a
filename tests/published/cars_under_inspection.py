"""One car under one of the catalogue's inspection regimes, asked when its next test is due."""

from datetime import date

import numpy as np

from maintenance.engine.columns import Inspections, LayUps, Vehicles
from maintenance.engine.days import NEVER, NO_DAY, from_day, to_day
from maintenance.engine.inspection import certificate
from maintenance.engine.lay_ups import standing
from maintenance.queries.rule_columns import regime_columns, regime_order


def _days(*days):
    return np.array(
        [int(NO_DAY) if day is None else to_day(date.fromisoformat(day)) for day in days],
        dtype=np.int64,
    )


def next_inspection(
    code, registered, *, passed=(), on, built=None, unchanged=False, off_road=(), season=(0, 0)
):
    """Return the day by which the next test is due, None where none is.

    `passed` are (day, stated expiry or None), `off_road` are (from, to or None).
    """
    one = np.array([0])
    vehicles = Vehicles(
        built=_days(built),
        first_registered=_days(registered),
        unchanged=np.array([unchanged]),
        odometer_unit=one + 10_000_000,
        odometer_digits=one + 6,
        expected_annual=one - 1,
        regime=np.array([regime_order().index(code)]),
        season_from=np.array(season[:1]),
        season_to=np.array(season[1:]),
    )
    inspections = Inspections(
        vehicle=np.zeros(len(passed), dtype=np.int64),
        day=_days(*(day for day, _ in passed)),
        passed=np.ones(len(passed), dtype=bool),
        expires=_days(*(expiry for _, expiry in passed)),
    )
    lay_ups = LayUps(
        vehicle=np.zeros(len(off_road), dtype=np.int64),
        start=_days(*(start for start, _ in off_road)),
        end=_days(*(end for _, end in off_road)),
        expected=_days(*(None for _ in off_road)),
        grade=np.zeros(len(off_road), dtype=np.int64),
    )
    day = to_day(date.fromisoformat(on))
    due = certificate(inspections, vehicles, regime_columns(), standing(lay_ups, 1, day), day).due
    return None if due[0] == NEVER else from_day(int(due[0])).isoformat()
