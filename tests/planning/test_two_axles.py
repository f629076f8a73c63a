"""A plan small enough to be worked by hand.

Ada and Ben work on Saturdays from nine to five. There is one pair of stands. Each axle: raise it
(half an hour), two jobs of three hours, one a person, lower it (half an hour): four hours, so both
axles, one after the other, fill the first Saturday. Four bleedings of half an hour for two people,
half an hour of first drive and an hour of road test follow on the second.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from maintenance.planning.conflict import Conflict
from maintenance.planning.jobs import Hold, Job, Part, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem, Settings
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, STANDS, breaches

SECOND = SATURDAY + timedelta(days=7)
THIRD = SATURDAY + timedelta(days=14)
STATIONS = ("rear left", "rear right", "front left", "front right")


def two_axles() -> Problem:
    """The plan of the module's first lines."""
    jobs, steps, holds = [], [], []
    for axle in ("front", "rear"):
        work = [f"{axle} hoses", f"{axle} pads"]
        jobs += [Job(f"raise {axle}", hours=0.5), Job(f"lower {axle}", hours=0.5)]
        jobs += [Job(name, hours=3, criticality="safety") for name in work]
        for name in work:
            steps += [Prerequisite(f"raise {axle}", name), Prerequisite(name, f"lower {axle}")]
        uses = (Use("axle stands"),)
        holds.append(Hold(f"{axle} axle raised", f"raise {axle}", f"lower {axle}", uses, True))
    jobs += [Job(f"bleed {name}", hours=0.5, hands=2, criticality="safety") for name in STATIONS]
    jobs += [Job("first drive", hours=0.5), Job("road test", hours=1)]
    line = [*(f"bleed {name}" for name in STATIONS), "first drive", "road test"]
    steps += [Prerequisite(f"lower {axle}", line[0]) for axle in ("front", "rear")]
    steps += [Prerequisite(one, then) for one, then in zip(line, line[1:], strict=False)]
    until = date(2030, 4, 30)
    return Problem(tuple(jobs), tuple(steps), (ADA, BEN), SATURDAY, until, (STANDS,), tuple(holds))


def late_hoses(problem: Problem) -> Problem:
    """The same with rear hoses that take ten days to come: the third Saturday."""
    part = Part("rear hoses", 4000, "counter", lead_days=10)
    jobs = [replace(j, parts=(part,)) if j.id == "rear hoses" else j for j in problem.jobs]
    return replace(problem, jobs=tuple(jobs))


def planned(problem: Problem) -> Plan:
    plan = plan_schedule(problem)
    assert isinstance(plan, Plan), plan
    assert not breaches(problem, plan)
    return plan


def test_both_axles_fill_the_first_saturday_and_the_car_is_ready_on_the_second():
    plan = planned(two_axles())

    assert plan.ready_on == SECOND
    assert plan.proven
    assert {plan.job(f"lower {axle}").end.day for axle in ("front", "rear")} == {SATURDAY}


def test_with_two_pairs_of_stands_no_day_is_won_because_hands_are_short():
    more = replace(two_axles(), resources=(replace(STANDS, capacity=2),))

    assert planned(more).ready_on == SECOND


def test_the_car_is_immobile_on_one_day_only():
    assert planned(two_axles()).immobile_days == 1


def test_late_hoses_make_the_car_ready_on_the_third_saturday():
    plan = planned(late_hoses(two_axles()))

    assert plan.ready_on == THIRD
    assert plan.proven


def test_the_last_day_to_order_is_the_lead_time_before_the_job():
    plan = planned(late_hoses(two_axles()))

    assert [(o.part.name, o.needed_on, o.order_by) for o in plan.orders] == [
        ("rear hoses", THIRD, THIRD - timedelta(days=10))
    ]


def test_the_late_hoses_are_critical_and_a_wash_on_the_first_saturday_is_not():
    problem = late_hoses(two_axles())
    plan = planned(replace(problem, jobs=(*problem.jobs, Job("wash", hours=0.5))))
    critical = {one.job.id for one in plan.critical}

    assert {"rear hoses", "bleed rear left", "road test"} <= critical
    assert "wash" not in critical


def test_a_deadline_before_the_hoses_come_names_hoses_and_deadline_and_nothing_else():
    answer = plan_schedule(replace(late_hoses(two_axles()), deadline=SECOND))

    assert isinstance(answer, Conflict)
    assert [demand.kind for demand in answer.demands] == ["job", "deadline"]
    assert answer.jobs == ("rear hoses",)
    assert answer.smallest
    assert "rear hoses arrives on 2030-03-12" in answer.words
    assert "by 2030-03-09" in answer.words


def test_a_deadline_on_the_first_saturday_asks_for_more_hands_than_there_are():
    answer = plan_schedule(replace(two_axles(), deadline=SATURDAY))

    assert isinstance(answer, Conflict)
    assert {"deadline", "people"} <= {demand.kind for demand in answer.demands}


def test_each_demand_of_a_smallest_conflict_given_up_leaves_a_plan():
    problem = replace(late_hoses(two_axles()), deadline=SECOND)
    without_job = replace(
        problem,
        jobs=tuple(j for j in problem.jobs if j.id != "rear hoses"),
        steps=tuple(s for s in problem.steps if "rear hoses" not in (s.before, s.after)),
    )

    assert isinstance(plan_schedule(without_job), Plan)
    assert isinstance(plan_schedule(replace(problem, deadline=None)), Plan)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_same_seed_gives_the_same_plan(seed):
    plans = [plan_schedule(two_axles(), Settings(seed=seed)) for _ in range(2)]

    assert plans[0] == plans[1]
