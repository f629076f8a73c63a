"""How long does a projection over 60 months keep the engine busy for one car of 60 rules?

Run from the top folder: ``python -m tests.benchmarks.bench_projection``. Prints the median engine
time in milliseconds, and its ratio to that of one plain due list of the same car in the same run;
the plan has five winters and five services. The time is that of the processor, so that a busy
machine does not count.
"""

from collections.abc import Callable
from statistics import median
from time import process_time

from maintenance.engine.columns import Batch
from maintenance.engine.context import context
from maintenance.engine.days import add_months
from maintenance.engine.due import due_items
from maintenance.engine.seasonal import profile, segments
from maintenance.engine.units import TENTH_MM_PER_KM
from maintenance.planning.projection import Work, occurrences, planned_yearly
from maintenance.planning.season import by_season, ways_ahead
from maintenance.planning.what_if import with_lay_up, with_reading_today
from tests.benchmarks.one_car import ON, car_of_rules

RULES, RUNS, LIMIT_MS = 60, 30, 50.0


def projection(batch: Batch) -> int:
    """Plan five years; return how many times something falls due in them.

    Parameters
    ----------
    batch : Batch
        One car.

    Returns
    -------
    int
        Number of occurrences.
    """
    today = due_items(batch, on=ON)
    planned, starts = batch, [int(add_months(ON, 12 * year + 5)) for year in range(5)]
    for start in starts:
        planned = with_lay_up(planned, start, start + 150, 2)
    first = context(planned, ON)
    rates = planned_yearly(first, 4000 * TENTH_MM_PER_KM, int(add_months(ON, 60)))
    works = [
        Work(int(add_months(ON, 12 * year + 11)), component, "renew")
        for year in range(5)
        for component in range(0, RULES, 3)
    ]
    planned = with_reading_today(planned, today.shared)
    found = occurrences(planned, works, starts, on=ON, planned=rates)
    return sum(len(each) for each in found.values())


def seasons(batch: Batch) -> int:
    """Tell the months and the bands by season; return of how many items.

    Parameters
    ----------
    batch : Batch
        One car.

    Returns
    -------
    int
        Number of items with a distance.
    """
    today = due_items(batch, on=ON)
    own = segments(today.shared.distance, today.shared.stands)
    weights = profile(own)
    assert weights is not None, "five years of readings make a profile"
    ways = ways_ahead(today.shared, own, weights, int(add_months(ON, 60)))
    assert ways is not None
    return len(by_season(today, today.shared, ways))


def milliseconds(call: Callable[[Batch], object], batch: Batch) -> float:
    """Return the median time of a call [ms]."""
    times = []
    for _ in range(RUNS):
        begin = process_time()
        call(batch)
        times.append(1000 * (process_time() - begin))
    return median(times)


def main() -> None:
    """Time both and print the ratio."""
    batch = car_of_rules(RULES)
    found = projection(batch)
    plain = milliseconds(lambda one: due_items(one, on=ON), batch)
    planned = milliseconds(projection, batch)
    by_months = milliseconds(seasons, batch) - plain
    print(f"one car, {RULES} rules, {found} occurrences; baseline: one due list of the same car")
    print(f"projection over 60 months: {planned:.1f} ms against {plain:.1f} ms, "
          f"ratio {planned / plain:.1f}; limit {LIMIT_MS:.0f} ms")  # fmt: skip
    whole = planned + by_months
    print(f"with the bands by season, where the plan leaves the distance open: {whole:.1f} ms, "
          f"ratio {whole / plain:.1f}; limit {LIMIT_MS:.0f} ms")  # fmt: skip
    print(f"of that the bands: {by_months:.1f} ms, "
          f"ratio {by_months / plain:.1f}")  # fmt: skip


if __name__ == "__main__":
    main()
