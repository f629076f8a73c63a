"""What comes before what on any car: the order that a plan may never turn round."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.catalogue.load import catalogue
from maintenance.planning.jobs import Job
from maintenance.planning.order import before, in_order
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.wanted import Workshop
from tests.planning.plans import breaches, problem_of
from tests.planning.rules import fitted, made_of, steps_of, wanted

LOOKED_AT = ("inspect", "repair")
FRICTION = ("brake-pads", "brake-discs", "brake-shoes", "brake-drums")
HYDRAULICS = (
    "brake-pipe", "brake-hose", "brake-caliper", "wheel-cylinder", "master-cylinder", "brake-servo",
)  # fmt: skip
CLUTCH = ("clutch-hose", "clutch-master-cylinder", "clutch-slave-cylinder")
COOLED_BY = ("coolant-hose", "heater-hose", "radiator", "water-pump", "thermostat", "core-plugs")
GEOMETRY = ("suspension-arm", "suspension-bush", "ball-joint", "track-rod-end", "king-pin", "tyre")
TIMED_BY = ("valve-clearances", "timing-belt", "spark-plugs", "contact-breaker")
RUNS_ON = ("engine-oil", "oil-filter", "coolant", "fuel", "fuel-hose", "fuel-pipe", "fuel-tank")
CARRIES = ("jacking-point", "sill", "chassis", "subframe", "underbody")
FLUIDS = ("brake-fluid", "silicone-brake-fluid", "brake-circuit-fluid")
RUNNING = {("ignition-timing", "adjust"), ("carburettor", "adjust"), ("fuel-injector", "adjust")}
AFTER_WORK = ("road test", "inspection")

#: What comes first, what waits for it, and the few words that say why; each told of two jobs.
ORDER = {
    "safety before the car moves": lambda one, then: (
        one.criticality == "safety"
        and one.phase not in (*AFTER_WORK, "first drive")
        and then.phase in ("first drive", "road test")
    ),
    "what carries the car before it is raised": lambda one, then: (
        one.kind in CARRIES and one.task in LOOKED_AT and then.task == "raise"
    ),
    "brakes before the handbrake cable": lambda one, then: (
        one.kind in FRICTION and (then.kind, then.task) == ("handbrake-cable", "adjust")
    ),
    "the cable is greased before it is set": lambda one, then: (
        (one.kind, one.task) == ("handbrake-cable", "lubricate")
        and (then.kind, then.task) == ("handbrake-cable", "adjust")
    ),
    "shoes adjusted before bleeding": lambda one, then: (
        (one.kind, one.task) == ("brake-shoes", "adjust")
        and (then.kind, then.task) == ("brake-circuit", "bleed")
    ),
    "clearances and points before the timing": lambda one, then: (
        one.kind in TIMED_BY and then.kind == "ignition-timing"
    ),
    "timing before the mixture": lambda one, then: (
        one.kind == "ignition-timing" and (then.kind, then.task) == ("carburettor", "adjust")
    ),
    "oil, coolant and fuel before the engine runs": lambda one, then: (
        one.kind in RUNS_ON and (then.kind, then.task) in RUNNING
    ),
    "bleeding before the alignment": lambda one, then: (
        (one.kind, one.task) == ("brake-circuit", "bleed") and then.kind == "wheel-alignment"
    ),
    "arms, joints and tyres before the alignment": lambda one, then: (
        one.kind in GEOMETRY and one.position != "spare" and then.kind == "wheel-alignment"
    ),
    "alignment before the road": lambda one, then: (
        one.kind == "wheel-alignment" and then.phase == "road test"
    ),
    "hydraulics before new fluid": lambda one, then: (
        one.kind in HYDRAULICS and then.kind in FLUIDS and then.task == "renew"
    ),
    "hydraulics before bleeding": lambda one, then: (
        one.kind in HYDRAULICS and (then.kind, then.task) == ("brake-circuit", "bleed")
    ),
    "cooling before new coolant": lambda one, then: (
        one.kind in COOLED_BY and (then.kind, then.task) == ("coolant", "renew")
    ),
    "clutch hydraulics before its fluid": lambda one, then: (
        one.kind in CLUTCH and then.kind == "clutch-fluid" and then.task == "renew"
    ),
}


def turned_round(jobs: list[Job]) -> list[str]:
    """Every pair of an order of jobs that stands the wrong way round, with the rule it breaks."""
    return [
        f"{name}: {late.id} comes after {early.id}"
        for number, early in enumerate(jobs)
        for late in jobs[number + 1 :]
        for name, comes_first in ORDER.items()
        if comes_first(late, early)
    ]


@pytest.mark.parametrize(
    ("asked", "first", "then"),
    [
        (
            [wanted("jacking-point front left", "inspect"), wanted("tyre front left")],
            "inspect jacking-point front left",
            "raise axle front",
        ),
        (
            [wanted("sill left", "repair"), wanted("tyre rear left")],
            "repair sill left",
            "raise axle rear",
        ),
        (
            [wanted("handbrake-cable", "adjust"), wanted("brake-shoes rear")],
            "renew brake-shoes rear",
            "adjust handbrake-cable",
        ),
        (
            [wanted("handbrake-cable", "adjust"), wanted("brake-discs rear", "inspect")],
            "inspect brake-discs rear",
            "adjust handbrake-cable",
        ),
        (
            [wanted("handbrake-cable", "adjust"), wanted("handbrake-cable", "lubricate")],
            "lubricate handbrake-cable",
            "adjust handbrake-cable",
        ),
        (
            [wanted("brake-fluid"), wanted("brake-shoes rear", "adjust")],
            "adjust brake-shoes rear",
            "bleed brake-circuit rear left",
        ),
        (
            [wanted("brake-shoes rear", "adjust")],
            "raise axle rear",
            "adjust brake-shoes rear",
        ),
        (
            [wanted("brake-shoes rear", "adjust")],
            "adjust brake-shoes rear",
            "lower axle rear",
        ),
        (
            [wanted("ignition-timing", "adjust"), wanted("valve-clearances", "adjust")],
            "adjust valve-clearances",
            "adjust ignition-timing",
        ),
        (
            [wanted("carburettor left", "adjust"), wanted("ignition-timing", "adjust")],
            "adjust ignition-timing",
            "adjust carburettor left",
        ),
        (
            [wanted("ignition-timing", "adjust"), wanted("engine-oil"), wanted("oil-filter")],
            "renew engine-oil",
            "adjust ignition-timing",
        ),
        (
            [wanted("carburettor", "adjust"), wanted("fuel-hose", "inspect")],
            "inspect fuel-hose",
            "adjust carburettor",
        ),
        (
            [wanted("wheel-alignment", "adjust"), wanted("brake-fluid")],
            "bleed brake-circuit front right",
            "adjust wheel-alignment",
        ),
        (
            [wanted("wheel-alignment", "adjust"), wanted("suspension-bush front left", "inspect")],
            "inspect suspension-bush front left",
            "adjust wheel-alignment",
        ),
        (
            [wanted("wheel-alignment", "adjust"), wanted("tyre front left", "inspect")],
            "inspect tyre front left",
            "adjust wheel-alignment",
        ),
        (
            [wanted("wheel-alignment", "adjust", "reliability"), wanted("brake-fluid")],
            "adjust wheel-alignment",
            "road_test whole-car",
        ),
        (
            [wanted("brake-fluid"), wanted("brake-pipe", "inspect")],
            "inspect brake-pipe",
            "renew brake-fluid",
        ),
        (
            [wanted("brake-fluid"), wanted("brake-servo", "inspect")],
            "inspect brake-servo",
            "renew brake-fluid",
        ),
        (
            [wanted("coolant"), wanted("water-pump", "inspect")],
            "inspect water-pump",
            "renew coolant",
        ),
        (
            [wanted("clutch-fluid"), wanted("clutch-slave-cylinder", "inspect")],
            "inspect clutch-slave-cylinder",
            "renew clutch-fluid",
        ),
    ],
)
def test_one_job_waits_for_the_other(asked, first, then):
    car = fitted(*dict.fromkeys(one.component for one in asked))
    assert first in before(then, steps_of(made_of(car, *asked)))


def places(kind: str) -> list[str]:
    if kind in {"tyre", "brake-hose", "suspension-arm", "suspension-bush", "ball-joint"}:
        return [f"{axle} {side}" for axle in ("front", "rear") for side in ("left", "right")]
    return ["front", "rear"] if kind in FRICTION else ["left", "right"] if kind == "sill" else [""]


TASKS = ("inspect", "adjust", "clean", "lubricate", "repair", "refinish", "overhaul", "renew")
PLACES = [(kind, place) for kind in catalogue().kinds for place in places(kind)]
CRITICALITIES = st.sampled_from(["safety", "reliability", "appearance"])


@st.composite
def cars(draw, most=25):
    """What some car asks for: any tasks on any components of the catalogue."""
    chosen = draw(st.lists(st.sampled_from(PLACES), min_size=1, max_size=most, unique=True))
    tasks = st.lists(st.sampled_from(TASKS), min_size=1, max_size=3, unique=True)
    return [
        wanted(f"{kind} {place}".strip(), task, draw(CRITICALITIES))
        for kind, place in chosen
        for task in draw(tasks)
    ]


@settings(max_examples=60, deadline=None)
@given(cars(), st.booleans())
def test_no_car_has_two_jobs_in_the_wrong_order(asked, lift):
    shop = Workshop(2, frozenset({"lift"} if lift else ()))
    made = made_of(fitted(*{one.component for one in asked}), *asked, workshop=shop)
    steps = steps_of(made)
    # Both ways through ties: what no prerequisite keeps apart comes out either way round.
    for jobs in (made.jobs, made.jobs[::-1]):
        assert turned_round(in_order(jobs, steps)) == []


@settings(max_examples=5, deadline=None)
@given(cars(most=8))
def test_no_plan_has_two_jobs_in_the_wrong_order(asked):
    made = made_of(fitted(*{one.component for one in asked}), *asked)
    problem = problem_of(made, steps_of(made))
    plan = plan_schedule(problem)
    assert breaches(problem, plan) == []
    overlapping = [
        f"{name}: {then.job.id} begins before {one.job.id} ends"
        for one, then in product(plan.jobs, repeat=2)
        if then.start_slot < one.end_slot
        for name, comes_first in ORDER.items()
        if comes_first(one.job, then.job)
    ]
    assert overlapping == []


@pytest.mark.parametrize("tasks", [("renew",), ("overhaul",), TASKS[:6], TASKS])
@pytest.mark.parametrize("lift", [False, True])
def test_work_on_everything_the_catalogue_knows_runs_in_no_ring(tasks, lift):
    asked = [wanted(f"{kind} {place}".strip(), task) for kind, place in PLACES for task in tasks]
    shop = Workshop(2, frozenset({"lift"} if lift else ()))
    made = made_of(fitted(*{one.component for one in asked}), *asked, workshop=shop)
    assert turned_round(in_order(made.jobs, steps_of(made))) == []


def test_the_spare_wheel_keeps_nobody_from_the_alignment():
    made = made_of([], wanted("tyre spare", "inspect"), wanted("wheel-alignment", "adjust"))
    pairs = {(step.before, step.after) for step in steps_of(made)}
    assert ("inspect tyre spare", "adjust wheel-alignment") not in pairs
