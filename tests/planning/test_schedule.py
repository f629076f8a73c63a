from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from maintenance.planning.conflict import Conflict
from maintenance.planning.errors import PlanningError
from maintenance.planning.jobs import Consumable, Hold, Job, Part, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem, Resource, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.working_calendar import Person, Shift, Span
from tests.planning.plans import ADA, BEN, SATURDAY, breaches

WEEK = timedelta(days=7)


def problem(*jobs: Job, **more) -> Problem:
    more = {"steps": (), "people": (ADA,), "calendar_until": date(2030, 5, 31)} | more
    return Problem(jobs=jobs, on=SATURDAY, **more)


def planned(asked: Problem) -> Plan:
    plan = plan_schedule(asked)
    assert isinstance(plan, Plan), plan
    assert not breaches(asked, plan)
    return plan


def test_a_job_longer_than_a_day_goes_on_next_saturday():
    plan = planned(problem(Job("respray", hours=10)))

    assert plan.job("respray").end.day == SATURDAY + WEEK
    assert plan.job("respray").end.at == time(11)


def test_a_job_that_must_not_pause_waits_for_a_whole_day():
    first = Job("strip", hours=6)
    plan = planned(
        problem(
            first, Job("bleed", hours=4, in_one_go=True), steps=(Prerequisite("strip", "bleed"),)
        )
    )

    assert plan.job("bleed").start.day == SATURDAY + WEEK


def test_a_job_of_two_hands_waits_for_the_day_on_which_both_are_there():
    away = replace(BEN, away=(Span(SATURDAY, SATURDAY),))
    plan = planned(problem(Job("lift the engine", hours=2, hands=2), people=(ADA, away)))

    assert plan.ready_on == SATURDAY + WEEK


def test_welding_is_left_to_the_welder():
    welder = Person("Cem", (Shift(6, time(9), time(17)),), skills=("welder",))
    plan = planned(problem(Job("weld the sill", hours=2, who=("welder",)), people=(ADA, welder)))

    assert plan.job("weld the sill").people == ("Cem",)


def test_paint_dries_for_the_days_asked_before_it_is_polished():
    drying = Prerequisite("paint", "polish", lag_days=8)
    plan = planned(problem(Job("paint"), Job("polish"), steps=(drying,)))

    assert plan.job("polish").start.day == SATURDAY + 2 * WEEK


def test_a_booked_appointment_is_not_brought_forward():
    booked = SATURDAY + 3 * WEEK
    plan = planned(problem(Job("inspection", phase="inspection", not_before=booked)))

    assert plan.finished_on == booked
    assert plan.ready_on is None


def test_two_jobs_on_a_hired_lift_share_one_day_of_hire():
    lift = Resource("lift", daily_cost=4000)
    work = [Job(f"lift {n}", hours=3, uses=(Use("lift"),)) for n in (1, 2)]
    other = Job("bench", hours=7)
    plan = planned(problem(*work, other, resources=(lift,)))

    assert plan.costs.hire == 4000
    assert plan.ready_on == SATURDAY + WEEK


def test_a_hired_lift_that_is_kept_for_a_week_is_paid_for_a_week():
    lift = Resource("lift", daily_cost=4000)
    plan = planned(problem(Job("exhaust", hours=10, uses=(Use("lift"),)), resources=(lift,)))

    assert plan.costs.hire == 8 * 4000


def test_a_rented_place_is_paid_from_the_first_use_to_the_last():
    place = Resource("place", capacity=9, daily_cost=500, whole_span=True)
    work = [Job(f"day {n}", hours=8, uses=(Use("place"),)) for n in range(3)]
    plan = planned(problem(*work, resources=(place,)))

    assert plan.costs.hire == 15 * 500


def test_a_lift_that_can_be_had_on_one_day_is_used_on_that_day():
    only = (Span(date(2030, 1, 1), SATURDAY + WEEK),)
    lift = Resource("lift", closed=only)
    plan = planned(problem(Job("exhaust", uses=(Use("lift"),)), resources=(lift,)))

    assert plan.ready_on == SATURDAY + 2 * WEEK


def test_an_optional_job_is_done_where_it_is_worth_its_cost_and_costs_no_day():
    worth = Job("polish", hours=1, optional=True, value=900, cost=500, criticality="appearance")
    not_worth = replace(worth, id="chrome", value=400)
    plan = planned(problem(Job("brakes", hours=7), worth, not_worth))

    assert [job.id for job in plan.left_out] == ["chrome"]
    assert plan.ready_on == SATURDAY


def test_an_optional_job_brings_what_it_calls_for_and_leaves_it_out_with_itself():
    polish = Job("polish", hours=1, optional=True, value=900, cost=500)
    wash = Job("wash", hours=1, cost=500, needed_by=("polish",))
    plan = planned(problem(Job("brakes"), polish, wash))

    assert {job.id for job in plan.left_out} == {"polish", "wash"}


def test_costs_are_told_by_sort_supplier_and_system():
    paid = replace(ADA, cost_per_hour=1000)
    job = Job(
        "hoses",
        hours=2,
        system="brakes",
        parts=(Part("hose", 1500, "counter", quantity=2),),
        consumables=(Consumable("fluid", 700),),
        cost=100,
    )
    costs = planned(problem(job, people=(paid,))).costs

    assert (costs.parts, costs.consumables, costs.outside_work, costs.labour) == (
        3000,
        700,
        100,
        2000,
    )
    assert costs.by_supplier == {"counter": 3000}
    assert costs.by_system == {"brakes": 5800}
    assert costs.total == 5800


def test_a_budget_that_is_too_small_names_the_jobs_that_are_too_dear_together():
    hoses = Job("hoses", cost=3000, criticality="safety")
    tyres = Job("tyres", cost=4000, criticality="safety")
    answer = plan_schedule(problem(hoses, tyres, Job("wash", cost=10), budget=5000))

    assert isinstance(answer, Conflict)
    assert answer.smallest
    assert set(answer.jobs) == {"hoses", "tyres"}
    assert "no more than 50.00 is spent" in answer.words


def test_what_is_spent_already_counts_against_the_budget():
    hoses = Job("hoses", cost=3000)

    assert isinstance(plan_schedule(problem(hoses, budget=5000, spent=2000)), Plan)
    assert isinstance(plan_schedule(problem(hoses, budget=5000, spent=2001)), Conflict)


def test_a_calendar_that_ends_before_a_part_comes_says_so():
    late = Job("hoses", parts=(Part("hose", lead_days=400),))
    answer = plan_schedule(problem(late))

    assert isinstance(answer, Conflict)
    assert "hose arrives on 2031-04-06" in answer.words


def test_the_cost_told_by_the_search_is_the_cost_counted_from_the_days():
    lift = Resource("lift", daily_cost=4000)
    place = Resource("place", capacity=9, daily_cost=500, whole_span=True)
    work = [Job(f"lift {n}", hours=5, uses=(Use("lift"), Use("place"))) for n in range(3)]
    plan = planned(problem(*work, resources=(lift, place), people=(replace(ADA, cost_per_hour=9),)))

    cost = next(stage for stage in plan.stages if stage.name == "cost")
    assert cost.proven
    assert cost.value == plan.costs.total


def test_the_days_immobile_told_by_the_search_are_those_counted_from_the_days():
    jobs = [Job("raise"), Job("work", hours=9), Job("lower")]
    steps = (Prerequisite("raise", "work"), Prerequisite("work", "lower"))
    hold = Hold("axle raised", "raise", "lower", immobilises=True)
    plan = planned(problem(*jobs, steps=steps, holds=(hold,)))

    immobile = next(stage for stage in plan.stages if stage.name == "car immobile")
    assert immobile.value == plan.immobile_days == 8


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (Job("brakes", criticality="safety", optional=True), "safety job can't be optional"),
        (Job("brakes", criticality="vital"), "criticality 'vital'"),
        (Job("brakes", hours=0), "hours must be more than 0"),
        (Job("brakes", hands=2), "needs 2 of anyone and the calendar has 1"),
        (Job("brakes", who=("welder",)), "of welder and the calendar has 0"),
        (Job("brakes", uses=(Use("crane"),)), "resource 'crane' is unknown"),
        (Job("brakes", uses=(Use("lift", 2),)), "takes 2 of 'lift' and there are 1"),
        (Job("brakes", needed_by=("gearbox",)), "needed_by names 'gearbox'"),
        (Job("brakes", needed_by=("brakes",)), "is needed by itself"),
    ],
)
def test_a_job_that_makes_no_sense_is_refused_by_name_and_field(job, words):
    with pytest.raises(PlanningError, match=words):
        plan_schedule(problem(job, resources=(Resource("lift"),)))


def test_too_little_effort_shows_a_gap_and_never_a_false_proof():
    lift = Resource("lift", daily_cost=4000)
    jobs = [
        Job(str(n), hours=1 + n % 4, uses=(Use("lift"),) if n % 3 else (), hands=1 + n % 2)
        for n in range(24)
    ]
    asked = problem(*jobs, people=(ADA, BEN), resources=(lift,))
    short = plan_schedule(asked, Settings(effort=0.05, samples=0))
    long = plan_schedule(asked, Settings(effort=3))

    assert isinstance(short, Plan)
    assert isinstance(long, Plan)
    for stage in short.stages[:1]:
        assert stage.bound <= long.stages[0].value <= stage.value
