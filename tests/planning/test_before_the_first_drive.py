"""What a car must have, hold and let go before it moves under its own power."""

import pytest

from tests.planning.rules import fitted, ids, made_of, steps_of, wanted

BRAKES = wanted("brake-pads front", "inspect")


@pytest.mark.parametrize(
    ("kind", "task"),
    [
        ("fuel", "renew"),
        ("automatic-transmission-fluid", "renew"),
        ("automatic-transmission-filter", "renew"),
        ("power-steering-fluid", "renew"),
        ("engine", "inspect"),
        ("battery", "inspect"),
        ("exhaust", "repair"),
        ("propshaft-joint", "lubricate"),
        ("clutch-cable", "adjust"),
        ("contact-breaker", "adjust"),
        ("lay-up-preparations", "undo"),
    ],
)
def test_it_is_done_before_the_first_drive(kind, task):
    order = ids([], BRAKES, wanted(kind, task, "reliability"))
    assert order.index(f"{task} {kind}") < order.index("first_drive whole-car")


@pytest.mark.parametrize(
    ("first", "then"),
    [
        (("fuel-tank", "clean"), ("fuel", "renew")),
        (("fuel-hose", "renew"), ("fuel", "renew")),
        (("fuel-filter", "renew"), ("fuel", "renew")),
        (("fuel-tank", "clean"), ("lay-up-preparations", "undo")),
        (
            ("automatic-transmission-filter", "renew"),
            ("automatic-transmission-fluid", "renew"),
        ),
        (("oil-filter", "renew"), ("engine-oil", "renew")),
    ],
)
def test_one_waits_for_the_other(first, then):
    made = made_of([], *(wanted(kind, task, "reliability") for kind, task in (then, first)))
    pairs = {(step.before, step.after) for step in steps_of(made)}
    assert (f"{first[1]} {first[0]}", f"{then[1]} {then[0]}") in pairs


def test_the_first_drive_is_the_last_thing_before_the_road():
    car = fitted("brake-fluid", "brake-hose front left")
    order = ids(car, wanted("brake-hose front left"), wanted("fuel", criticality="reliability"))
    assert order[-2:] == ["first_drive whole-car", "road_test whole-car"]


@pytest.mark.parametrize(
    "mended",
    [
        wanted("chassis", "repair"),
        wanted("sill left", "inspect"),
        wanted("seat-belt driver", "repair"),
        wanted("lamp front left", "repair"),
        wanted("body-mount", "repair", "reliability"),
        wanted("horn", "repair", "reliability", tags=("failed-inspection",)),
        wanted("bumper front", "repair", "reliability", tags=("must-be-put-right",)),
    ],
)
@pytest.mark.parametrize("driven", ["first_drive whole-car", "bed_in friction-material"])
def test_nobody_drives_before_structure_and_what_failed_are_mended(mended, driven):
    order = ids([], wanted("brake-pads front"), mended)
    place = " ".join(word for word in (mended.task, mended.kind, mended.position) if word)
    assert order.index(place) < order.index(driven)
