"""One car with as many rules as asked for, every criterion among them, for benchmarks."""

from datetime import date, timedelta
from decimal import Decimal

from maintenance.engine.columns import Batch
from maintenance.engine.days import to_day
from tests.engine.columns_from_history import fleet_of
from tests.strategies import Case

TODAY = date(2026, 11, 25)
ON = to_day(TODAY)


def car_of_rules(count: int) -> Batch:
    """A car of ten years' history.

    Parameters
    ----------
    count : int
        Number of components, each with one rule.

    Returns
    -------
    Batch
        Five winters in store, a reading a month in use, a service a year.
    """
    places = [("brake-pads", f"place {n}") for n in range(count)]
    vehicle = {
        "first_registered_on": "1968-05-01", "built_on": None, "substantially_changed": None,
        "odometer_unit": "km", "odometer_digits": 6, "expected_annual_distance": 4000,
        "season_from_month": None, "season_to_month": None,
        "lay_ups": [_winter(year) for year in range(2021, 2026)],
        "components": [{"kind": kind, "position": position} for kind, position in places],
        "service_events": [_service(year, places) for year in range(2017, 2027)],
        "inspections": [], "odometer_changes": [],
        "odometer_readings": [
            {"on": (TODAY - timedelta(days=30 * n)).isoformat(), "value": 90_000 - 300 * n}
            for n in range(60)
        ],
    }  # fmt: skip
    rules = [(_rule(n), [place]) for n, place in enumerate(places)]
    return fleet_of([Case(vehicle, rules, None, TODAY.isoformat())]).batch


def _winter(year):
    return {
        "from": f"{year}-10-25", "to": f"{year + 1}-03-28", "expected_to": None,
        "storage": ("dry", "damp")[year % 2],
    }  # fmt: skip


def _service(year, places):
    return {"on": f"{year}-05-10", "entries": [_entry(year, *place) for place in places]}


def _entry(year, kind, position):
    entry = {"kind": kind, "position": position, "action": "renew" if year == 2017 else "measure"}
    value = Decimal(110 - 4 * (year - 2017)) / 10
    return entry | {"measurement": {"quantity": "lining_thickness", "value": value, "unit": "mm"}}


def _rule(number):
    rule = {
        "name": f"rule {number}", "kind": "brake-pads", "source": "common practice",
        "task": ("renew", "inspect")[number % 2], "applies": "always",
        "lay_up": {
            "factors": {"heated": Decimal(1), "dry": Decimal(1), "damp": Decimal("1.5"),
                        "outdoors": Decimal("1.34")},
            "km_per_month": 0,
        },
        "warn_days": 30, "warn_distance_km": 500, "criticality": "safety",
        "counts_shelf_age": False,
    }  # fmt: skip
    wear = {"quantity": "lining_thickness", "unit": "mm", "new": Decimal(11), "minimum": Decimal(2)}
    limits = [
        {"months": 24}, {"distance_km": 10_000, "months": 12}, {"wear": wear},
        {"months": 60, "before_use_after_months": 3},
    ]  # fmt: skip
    return rule | limits[number % 4]
