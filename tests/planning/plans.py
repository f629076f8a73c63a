"""Small plans that the tests of the planner share, and checks of any plan by other means."""

from datetime import date, time
from itertools import combinations

from maintenance.planning.jobs import OPEN
from maintenance.planning.one_day import day_groups
from maintenance.planning.outcome import Plan
from maintenance.planning.problem import Problem, Resource, may_do
from maintenance.planning.working_calendar import Person, Shift

SATURDAY = date(2030, 3, 2)
SATURDAYS = (Shift(5, time(9), time(17)),)
ADA = Person("Ada", SATURDAYS)
BEN = Person("Ben", SATURDAYS)
STANDS = Resource("axle stands")


def problem_of(made, steps) -> Problem:
    """What rules made of a car's wants, for Ada and Ben and one pair of stands."""
    until = date(2031, 12, 31)
    things = [Resource("press"), Resource("bench"), STANDS]
    return Problem(made.jobs, steps, (ADA, BEN), SATURDAY, until, tuple(things), made.holds)


def breaches(problem: Problem, plan: Plan) -> list[str]:
    """Everything in a plan that breaks the problem, looked up slot by slot."""
    at = {planned.job.id: planned for planned in plan.jobs}
    grid = problem.grid()
    found = [
        f"{step.after} begins before {step.before} ends"
        for step in problem.steps
        if step.before in at and step.after in at
        if at[step.after].start_slot < at[step.before].end_slot
    ]
    found += [f"{p.job.id} begins too early" for p in plan.jobs if _too_early(problem, p)]
    people = {person.name: person for person in problem.people}
    for planned in plan.jobs:
        slots = range(planned.start_slot, planned.end_slot)
        for name in planned.people:
            there = sum(grid.present[name][slot] for slot in slots)
            if there < grid.slots_for(planned.job.hours):
                found.append(f"{name} is not there long enough for {planned.job.id}")
            if not may_do(people[name], planned.job):
                found.append(f"{name} may not do {planned.job.id}")
        if len(planned.people) != planned.job.hands:
            found.append(f"{planned.job.id} has the wrong number of hands")
    for one, other in combinations(plan.jobs, 2):
        overlap = one.start_slot < other.end_slot and other.start_slot < one.end_slot
        if overlap and set(one.people) & set(other.people):
            found.append(f"{one.job.id} and {other.job.id} share a person")
        if overlap and (one.job.takes_car or other.job.takes_car):
            found.append(f"{one.job.id} and {other.job.id} both want the car")
    found += [
        f"{' and '.join(group)} are spread over days"
        for group, _ in day_groups(problem, grid)
        if len({at[job].start.day for job in group if job in at}) > 1
    ]
    return found + _overused(problem, plan, grid.slots)


def _too_early(problem: Problem, planned) -> bool:
    return planned.start.day < planned.job.earliest_day(problem.on)


def _overused(problem: Problem, plan: Plan, slots: int) -> list[str]:
    at = {planned.job.id: planned for planned in plan.jobs}
    claims = [(p.start_slot, p.end_slot, p.job.uses) for p in plan.jobs]
    for hold in problem.holds:
        if hold.closer in at:
            start = 0 if hold.opener == OPEN else at[hold.opener].start_slot
            claims.append((start, at[hold.closer].end_slot, hold.uses))
    found = []
    for resource in problem.resources:
        for slot in range(slots):
            used = sum(
                use.amount
                for start, end, uses in claims
                if start <= slot < end
                for use in uses
                if use.resource == resource.name
            )
            if used > resource.capacity:
                found.append(f"{resource.name} is used {used} times in slot {slot}")
    return found
