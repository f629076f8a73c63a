"""What every criterion reads: the batch with its timelines, distances and effects worked out."""

from dataclasses import dataclass

import numpy as np

from maintenance.engine.columns import Batch, Ints
from maintenance.engine.days import add_months
from maintenance.engine.forecast import Forecast, forecast
from maintenance.engine.journeys import Journeys, journeys
from maintenance.engine.lay_ups import Standing, standing
from maintenance.engine.lives import (
    Lives,
    distance_of,
    forecast_of,
    travelled_in,
    with_lives,
)
from maintenance.engine.odometer import Distance, Rate, travelled_by, true_distance
from maintenance.engine.resets import Effects, effects

HORIZON_MONTHS = 1200


@dataclass(frozen=True)
class Context:
    """A batch as known on a day.

    `horizon` is the last day on which anything is said to fall due: a hundred years after `on`.
    Rows of vehicles are the cars, and after them the parts that were elsewhere than on the car
    they are on (`lives`); `batch.components` has the row by which each part ages, and `owner` the
    car to which each place belongs. `done` is what was done to the part in each place, `at_place`
    what was done in the place itself.
    """

    batch: Batch
    on: int
    horizon: int
    stands: Standing
    distance: Distance
    forecast: Forecast
    done: Effects
    at_place: Effects
    owner: Ints
    journeys: Journeys
    lives: Lives

    def is_own(self, entry: int, component: int) -> bool:
        """Return whether an entry names the part that is now in a place, there or where it was."""
        place = int(self.batch.entries.component[entry])
        order = int(self.batch.entries.order[entry])
        return self.journeys.moved.get((place, order), place) == component

    def travelled(self, vehicle: Ints, day: Ints, onward: Rate | None = None) -> Ints:
        """Return the true distance of cars on days [0.1 mm], onward at another rate if given."""
        central = self.forecast.central.of(vehicle)
        onward = onward or central
        if not self.lives.parts:
            return travelled_by(self.distance, central, onward, self.stands, vehicle, day)
        rates = self.forecast.central
        return travelled_in(self.lives, self.distance, rates, onward, self.stands, vehicle, day)


def context(batch: Batch, on: int, planned: Forecast | None = None) -> Context:
    """Work out what the criteria share.

    Parameters
    ----------
    batch : Batch
        What is on record about some cars.
    on : int
        Day asked about [days since 1970-01-01].
    planned : Forecast or None
        Rates of a plan, which go before those that the records tell.

    Returns
    -------
    Context
        Facts recorded for days after `on` are left out, but for lay-ups, which are plans.

    References
    ----------
    .. [1] Common practice: a due list of a day tells what could be known on it.
    """
    cars = batch.vehicles.odometer_unit.size
    at_place = effects(batch.entries, batch.components, batch.carried_over, on)
    found = journeys(at_place, batch.entries, batch.components)
    whole, lives = with_lives(batch, found)
    stands = standing(whole.lay_ups, whole.vehicles.odometer_unit.size, on)
    distance = true_distance(batch.readings, batch.vehicles, on)
    if planned is None:
        rates = forecast(distance, batch.vehicles, stands, on)
    else:
        rates = planned.of(np.arange(cars))
    return Context(
        batch=whole,
        on=on,
        horizon=int(add_months(on, HORIZON_MONTHS)),
        stands=stands,
        distance=distance_of(distance, lives),
        forecast=forecast_of(rates, lives),
        done=found.done,
        at_place=at_place,
        owner=batch.components.vehicle,
        journeys=found,
        lives=lives,
    )
