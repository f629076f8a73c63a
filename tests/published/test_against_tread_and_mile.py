"""Legal tread, and distances of laws in the other unit."""

import pytest

from maintenance.engine.units import TENTH_MM_PER_KM, TENTH_MM_PER_MILE
from tests.engine.on_paper import answer, event

SIXTEENTH_OF_AN_INCH = 2 * 25.4 / 32


def tyre(tread, minimum):
    """A tyre of 8 mm measured after 1 000 km, under a limit of its tread."""
    wear = {"quantity": "tread_depth", "unit": "mm", "new": 8, "minimum": minimum,
            "against": "distance"}  # fmt: skip
    part = [{"kind": "tyre", "position": "", "assembly": None}]
    return answer(
        on="2026-01-01",
        rule={"kind": "tyre", "wear": wear, "criticality": "reliability"},
        components=part,
        service_events=[
            event("2025-01-01", kind="tyre", odometer=40_000),
            event("2026-01-01", "measure", "tyre", odometer=41_000,
                  measurement={"quantity": "tread_depth", "value": tread, "unit": "mm"}),
        ],
    )  # fmt: skip


def test_two_thirty_seconds_of_an_inch_are_1_5875_mm():  # 49 CFR 570.9
    assert SIXTEENTH_OF_AN_INCH == pytest.approx(1.5875, abs=1e-12)


@pytest.mark.parametrize(
    ("tread", "minimum", "worn_out"),
    [
        (1.59, 1.6, True),  # GB; DE, StVZO § 36(3): 1.6 mm
        (1.61, 1.6, False),
        (1.59, 1.5875, False),  # US, 49 CFR 570.9
        (1.58, 1.5875, True),
    ],
)
def test_a_tread_just_above_one_law_is_below_another(tread, minimum, worn_out):
    assert (tyre(tread, minimum)["due_on"] == "2026-01-01") == worn_out


def test_75_000_miles_are_120_700_8_km():
    assert 75_000 * TENTH_MM_PER_MILE == 1_207_008 * TENTH_MM_PER_KM // 10


def test_160_000_km_are_reached_at_99_419_miles():  # Directive 2014/45/EU, Article 5(4)
    item = answer(
        on="2026-01-01",
        rule={"distance_km": 160_000},
        odometer_unit="mi",
        service_events=[event("2025-01-01", odometer=0)],
        odometer_readings=[{"on": "2026-01-01", "value": 1_000}],
    )
    assert int(item["due_at_odometer"]) == 99_419
