from dataclasses import replace
from datetime import date
from itertools import permutations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from maintenance.planning.conflict import Conflict
from maintenance.planning.jobs import Job, Part, Use
from maintenance.planning.order import Prerequisite
from maintenance.planning.outcome import TIDY, Plan
from maintenance.planning.problem import Problem, Resource, Settings
from maintenance.planning.schedule import plan_schedule
from maintenance.planning.serial import SerialScheme
from maintenance.planning.working_calendar import Person, Shift
from tests.planning.plans import ADA, BEN, SATURDAY, STANDS, breaches

CALENDAR_END = date(2030, 6, 30)
SUNDAYS = Person("Cem", (Shift(6),), skills=("welder",), cost_per_hour=700)


@st.composite
def problems(draw, people=(ADA, BEN), optional=True):
    count = draw(st.integers(1, 5))
    jobs = [
        Job(
            str(n),
            hours=draw(st.sampled_from([0.5, 2, 5, 9])),
            hands=draw(st.integers(0, 2)),
            parts=(Part("part", draw(st.integers(0, 5000)), lead_days=draw(st.integers(0, 20))),),
            uses=draw(st.sampled_from([(), (Use("axle stands"),), (Use("lift"),)])),
            in_one_go=draw(st.booleans()),
            criticality=draw(st.sampled_from(["safety", "appearance"])),
            takes_car=draw(st.booleans()),
        )
        for n in range(count)
    ]
    jobs = [replace(j, in_one_go=False) if j.hours > 8 else j for j in jobs]
    if optional:
        left = [j.criticality != "safety" and draw(st.booleans()) for j in jobs]
        jobs = [replace(j, optional=o, value=2000) for j, o in zip(jobs, left, strict=True)]
    pairs = [(a, b) for b in range(count) for a in range(b)]
    steps = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    return Problem(
        jobs=tuple(jobs),
        steps=tuple(Prerequisite(str(a), str(b)) for a, b in steps),
        people=people,
        on=SATURDAY,
        calendar_until=CALENDAR_END,
        resources=(STANDS, Resource("lift", daily_cost=1000)),
    )


@settings(max_examples=40, deadline=None)
@given(problems(people=(ADA, BEN, SUNDAYS)))
def test_no_plan_breaks_an_order_a_calendar_or_a_resource(problem):
    plan = plan_schedule(problem, Settings(effort=1))

    assert isinstance(plan, Plan)
    assert breaches(problem, plan) == []


@settings(max_examples=25, deadline=None)
@given(problems())
def test_every_safety_job_is_in_the_plan(problem):
    plan = plan_schedule(problem, Settings(effort=1))

    left_out = {job.criticality for job in plan.left_out}
    assert "safety" not in left_out


@settings(max_examples=25, deadline=None)
@given(problems(optional=False))
def test_no_order_of_jobs_makes_the_car_ready_earlier(problem):
    plan = plan_schedule(problem, Settings(effort=2))
    scheme = SerialScheme(problem)
    names = list(scheme.jobs)
    placed = [
        scheme.plan({name: float(rank) for rank, name in enumerate(order)})
        for order in permutations(names)
    ]
    ends = [max(at.end for at in one.values()) for one in placed if one]

    assert plan.stages[0].proven
    assert plan.ready_on == problem.grid().day_of_end(min(ends))


@settings(max_examples=15, deadline=None)
@given(problems(), st.integers(1, 3))
def test_a_plan_depends_on_problem_and_seed_alone(problem, seed):
    chosen = Settings(seed=seed, effort=0.5)

    assert plan_schedule(problem, chosen) == plan_schedule(problem, chosen)


@settings(max_examples=25, deadline=None)
@given(problems(people=(ADA, BEN, SUNDAYS)))
def test_told_and_counted_figures_agree(problem):
    plan = plan_schedule(problem, Settings(effort=2))
    told = {stage.name: stage.value for stage in plan.stages if stage.name != TIDY}
    value = sum(planned.job.value for planned in plan.jobs if planned.job.optional)
    cost = next(figure for name, figure in told.items() if name.startswith("cost"))

    assert cost == plan.costs.total - value


@settings(max_examples=25, deadline=None)
@given(problems(optional=False), st.integers(0, 60))
def test_a_deadline_is_kept_or_said_to_be_impossible(problem, days):
    last = date.fromordinal(SATURDAY.toordinal() + days)
    free = plan_schedule(problem, Settings(effort=2))
    assume(free.stages[0].proven)

    answer = plan_schedule(replace(problem, deadline=last), Settings(effort=2))

    if free.ready_on <= last:
        assert isinstance(answer, Plan)
        assert answer.finished_on <= last
    else:
        assert isinstance(answer, Conflict)
        assert any(demand.kind == "deadline" for demand in answer.demands)
