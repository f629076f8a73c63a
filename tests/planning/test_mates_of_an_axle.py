"""What is renewed on one side is renewed on the other, or the car pulls, stands or steers askew."""

import pytest

from tests.planning.rules import SIDES, fitted, ids, wanted


@pytest.mark.parametrize(
    ("kind", "task"),
    [
        ("brake-discs", "renew"),
        ("brake-drums", "renew"),
        ("brake-pads", "renew"),
        ("brake-shoes", "renew"),
        ("brake-caliper", "overhaul"),
        ("wheel-cylinder", "overhaul"),
        ("leaf-spring", "renew"),
        ("torsion-bar", "renew"),
        ("drop-link", "renew"),
        ("suspension-arm", "renew"),
        ("radius-arm", "renew"),
    ],
)
def test_the_other_side_of_the_axle_is_done_with_it(kind, task):
    car = fitted(*(f"{kind} {axle} {side}" for axle in ("front", "rear") for side in SIDES))
    order = ids(car, wanted(f"{kind} rear left", task))
    assert f"{task} {kind} rear right" in order
    assert not any(f"{kind} front" in job for job in order)


def test_a_broken_disc_brings_the_other_disc_and_both_sides_pads():
    car = fitted(
        *(f"{kind} front {side}" for kind in ("brake-discs", "brake-pads") for side in SIDES)
    )
    order = ids(car, wanted("brake-discs front left"))
    assert {f"renew {one.kind} {one.position}" for one in car} <= set(order)


def test_the_upper_arm_of_the_other_side_is_no_mate_of_a_lower_arm():
    car = fitted("suspension-arm front left lower", "suspension-arm front right upper")
    order = ids(car, wanted("suspension-arm front left lower"))
    assert "renew suspension-arm front right upper" not in order


def test_a_spare_tyre_brings_no_other_tyre():
    order = ids(fitted("tyre spare", "tyre", "tyre rear left"), wanted("tyre spare"))
    assert [job for job in order if "tyre" in job] == ["renew tyre spare"]
