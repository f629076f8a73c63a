"""How work is done with the people and things that there are."""

import pytest

from maintenance.catalogue.job_rules import job_rules
from maintenance.planning.wanted import Workshop
from tests.planning.rules import fitted, ids, made_of, wanted

HOSES = ("brake-hose front left", "brake-hose rear left")
CAR = fitted("brake-fluid", *HOSES)


def jobs(*resources, alone=False, **used_for):
    shop = Workshop(1 if alone else 2, frozenset({*resources, *used_for}), used_for)
    return made_of(CAR, *map(wanted, HOSES), workshop=shop)


def test_one_person_alone_bleeds_by_another_method_and_longer():
    bleed = next(job for job in jobs(alone=True).jobs if job.task == "bleed")
    assert (bleed.hands, bleed.hours) == (1, 0.75)
    assert "one person alone: with a pressure or vacuum bleeder" in bleed.reason


def test_two_people_bleed_as_ever():
    bleed = next(job for job in jobs().jobs if job.task == "bleed")
    assert (bleed.hands, bleed.hours) == (2, 0.5)


def test_every_job_of_two_can_be_done_by_one_some_way():
    rows = [row for row in job_rules().standard_jobs if row.hands > 1]
    assert rows and all(row.alone_hours and row.alone_how for row in rows)


def test_with_a_lift_the_car_goes_up_once_for_both_axles():
    made = jobs("lift")
    assert [hold.name for hold in made.holds] == ["car on the lift"]
    assert [use.resource for hold in made.holds for use in hold.uses] == ["lift"]


def test_without_a_lift_each_axle_is_raised_on_stands():
    assert {use.resource for hold in jobs().holds for use in hold.uses} == {"axle stands"}


def test_the_car_is_down_from_the_lift_before_it_is_driven():
    order = ids(CAR, *map(wanted, HOSES), workshop=Workshop(2, frozenset({"lift"})))
    assert order.index("lower car") < order.index("first_drive whole-car")


def test_a_rented_place_is_used_by_all_that_is_not_done_on_the_road():
    made = jobs("rented place")
    outside = [job for job in made.jobs if "rented place" not in [u.resource for u in job.uses]]
    driven = {"first_drive", "road_test"}
    assert outside == [job for job in made.jobs if job.task in driven] != []


def test_a_hired_tool_is_used_for_what_the_keeper_says():
    made = jobs(**{"flaring tool": ("brake-hose",)})
    using = {job.kind for job in made.jobs if "flaring tool" in [u.resource for u in job.uses]}
    assert using == {"brake-hose"}


@pytest.mark.parametrize("kind", ["brake-caliper", "carburettor"])
def test_what_is_taken_apart_is_taken_apart_on_the_bench(kind):
    made = made_of([], wanted(kind, "overhaul"))
    job = next(job for job in made.jobs if job.kind == kind)
    assert [use.resource for use in job.uses] == ["bench"]
