"""Nobody looks at what is renewed anyway, whoever asked for the renewal."""

from datetime import date

import pytest

from maintenance.planning.jobs import Part
from maintenance.planning.problem import Problem
from maintenance.planning.schedule import plan_schedule
from tests.planning.plans import ADA, BEN, SATURDAY, STANDS
from tests.planning.rules import fitted, ids, made_of, steps_of, wanted

SPRINGS = ("coil-spring rear left", "coil-spring rear right")
LEFT, RIGHT = SPRINGS
LOOK = wanted(RIGHT, "inspect", reason="due 2027-01-01")


def test_a_spring_renewed_as_a_mate_is_not_inspected_besides():
    order = ids(fitted(*SPRINGS), wanted(LEFT), LOOK)
    assert f"renew {RIGHT}" in order and f"inspect {RIGHT}" not in order


def test_all_that_waited_for_the_look_waits_for_the_renewal():
    made = made_of(fitted(*SPRINGS), wanted(LEFT), LOOK)
    named = {name for step in steps_of(made) for name in (step.before, step.after)}
    named |= {name for job in made.jobs for name in job.needed_by}
    assert f"inspect {RIGHT}" not in named


def test_a_renewal_that_is_done_settles_nothing_that_is_asked_for_now():
    order = ids(fitted(*SPRINGS), wanted(LEFT), LOOK, finished=[f"renew {RIGHT}"])
    assert f"inspect {RIGHT}" in order


WISH = wanted(LEFT, criticality="reliability", optional=True)


@pytest.mark.parametrize("place", SPRINGS)
def test_an_inspection_is_due_unless_the_wish_to_renew_is_granted(place):
    made = made_of(fitted(*SPRINGS), WISH, wanted(place, "inspect"))
    look = next(job for job in made.jobs if job.task == "inspect")
    assert look.unless == (f"renew {place}",)


@pytest.mark.parametrize(("budget", "task"), [(None, "renew"), (2000, "inspect")])
def test_with_money_for_the_wish_the_spring_is_renewed_and_else_looked_at(budget, task):
    part = {("coil-spring", "rear left"): (Part("spring", 3000),)}
    made = made_of(fitted(LEFT), WISH, wanted(LEFT, "inspect"), offers=part)
    plan = plan_schedule(
        Problem(made.jobs, steps_of(made), (ADA, BEN), SATURDAY, date(2030, 5, 1),
                (STANDS,), made.holds, date(2030, 4, 1), budget)
    )  # fmt: skip
    assert [p.job.task for p in plan.jobs if p.job.kind == "coil-spring"] == [task]


def test_coolant_that_is_filled_anew_is_not_inspected_besides():
    order = ids(fitted("coolant"), wanted("water-pump"), wanted("coolant", "inspect"))
    assert "inspect coolant" not in order


def test_the_reason_of_a_repair_that_a_renewal_settles_is_kept():
    exhaust = wanted("exhaust", "repair", reason="finding: blowing at the joint")
    made = made_of(fitted("exhaust"), wanted("exhaust", reason="rusted through."), exhaust)
    assert made.jobs[0].reason == "rusted through. finding: blowing at the joint"


def test_pieces_of_a_new_assembly_are_not_inspected_besides():
    boot = "half-shaft-boot left outer"
    shaft = wanted("half-shaft left", clears=(boot,))
    assert f"inspect {boot}" not in ids(fitted(boot), shaft, wanted(boot, "inspect"))


ARMS = ("suspension-arm front left", "suspension-arm front right")
PIECES = [f"{kind} front {side}" for kind in ("ball-joint", "suspension-bush")
          for side in ("left", "right")]  # fmt: skip


@pytest.mark.parametrize("piece", PIECES)
@pytest.mark.parametrize("task", ["inspect", "lubricate", "renew"])
def test_what_comes_with_a_new_arm_is_neither_looked_at_nor_renewed_besides(piece, task):
    order = ids(fitted(*ARMS, *PIECES), wanted(ARMS[0]), wanted(piece, task))
    assert f"renew {ARMS[1]}" in order
    assert f"{task} {piece}" not in order


def test_a_new_arm_says_which_pieces_came_with_it():
    made = made_of(fitted(*ARMS, *PIECES), wanted(ARMS[0]), wanted(PIECES[1], "inspect"))
    assert [job.clears for job in made.jobs if job.id == f"renew {ARMS[1]}"] == [(PIECES[1],)]


def test_the_boot_of_a_ball_joint_that_comes_with_its_arm_comes_too():
    boot, joint = "ball-joint-boot front left", PIECES[0]
    asked = [wanted(joint), wanted(boot, "inspect"), wanted(ARMS[0])]
    made = made_of(fitted(*ARMS, joint, boot), *asked)
    assert {job.kind for job in made.jobs if job.task in {"renew", "inspect"}} == {"suspension-arm"}
    steps_of(made)


def test_a_joint_at_the_other_axle_is_looked_at_all_the_same():
    rear = "ball-joint rear left"
    order = ids(fitted(*ARMS, rear), wanted(ARMS[0]), wanted(rear, "inspect"))
    assert f"inspect {rear}" in order


def test_an_arm_that_is_in_already_settles_nothing_that_is_asked_for_now():
    look = wanted(PIECES[0], "inspect")
    order = ids(fitted(*ARMS, *PIECES), wanted(ARMS[0]), look, finished=[f"renew {ARMS[0]}"])
    assert look.task + " " + look.component in order


def test_a_joint_is_looked_at_unless_the_wish_for_a_new_arm_is_granted():
    wish = wanted(ARMS[0], criticality="reliability", optional=True)
    made = made_of(fitted(*ARMS, *PIECES), wish, wanted(PIECES[0], "inspect"))
    look = next(job for job in made.jobs if job.kind == "ball-joint")
    assert look.unless == (f"renew {ARMS[0]}",)
