"""How honest is the seasonal forecast: does its 80 % band hold four in five true due days?

Run from the top folder: ``python -m tests.benchmarks.bench_coverage``. Cars are simulated day by
day: a year's rhythm, weeks with more and with less driving, winters in store, a reading a month.
From three years of readings each is asked when it will have covered a further distance; its own
next years say when it truly has. Beside it stands the band of the even rate, as the due list has
it, counted in the same way.
"""

import numpy as np

from maintenance.engine.context import context
from maintenance.engine.seasonal import ahead, in_use, profile, reached, segments
from tests.engine.simulated_cars import AHEAD, ON, even_band, simulated_car

CARS = 400
#: The band was shaped on the cars before this one; those from here on it has never seen.
FIRST = 1000
LOW, HIGH = 0.75, 0.85


def held(seed: int) -> tuple[bool, bool, int, int]:
    """Tell whether the bands of one simulated car hold its true due day, and how wide they are.

    Parameters
    ----------
    seed : int
        Seed of the car.

    Returns
    -------
    tuple
        Seasonal band holds, even band holds, width of each [days].
    """
    car = simulated_car(seed)
    shared = context(car.batch, ON)
    found = segments(shared.distance, shared.stands)
    weights = profile(found)
    assert weights is not None, "three years of readings make a profile"
    day = np.arange(ON, ON + AHEAD)
    used = in_use(shared.stands, 0, day).astype(float)
    ways = ahead(found, weights, day, used)
    assert ways is not None
    early, _, late = reached(ways, np.full(day.size, float(car.wanted)))
    first, last = even_band(shared, car.wanted)
    return early <= car.due <= late, first <= car.due <= last, late - early, last - first


def coverage(cars: int = CARS) -> tuple[float, float, float, float]:
    """Return the share of cars that each band holds, and the bands' median width [days]."""
    rows = np.array([held(seed) for seed in range(FIRST, FIRST + cars)], dtype=float)
    return (
        float(rows[:, 0].mean()),
        float(rows[:, 1].mean()),
        float(np.median(rows[:, 2])),
        float(np.median(rows[:, 3])),
    )


def main() -> None:
    """Count and print."""
    seasonal, even, width, even_width = coverage()
    print(f"{CARS} simulated cars, baseline: the even rate's band of the due list")
    print(f"80 % band holds the true due day: {seasonal:.1%}, baseline {even:.1%}; "
          f"wanted {LOW:.0%} to {HIGH:.0%}")  # fmt: skip
    print(f"median width: {width:.0f} days, ratio to the baseline {width / even_width:.2f}")


if __name__ == "__main__":
    main()
