"""Demands that can't hold together, also where the solver names no core by itself."""

from ortools.sat.python import cp_model

from maintenance.planning import conflict
from maintenance.planning.conflict import Conflict, smallest_conflict
from maintenance.planning.demands import Demand
from maintenance.planning.problem import Settings


def pigeons(holes, spare=0):
    """Demands that each of some pigeons, one more than there are holes, has one; and idle ones."""
    cp, demands = cp_model.CpModel(), []
    places = [cp.new_int_var(1, holes, "") for _ in range(holes + 1)]
    on = [cp.new_bool_var("") for _ in range(holes + 1 + spare)]
    for first in range(holes + 1):
        demands.append((Demand("job", str(first), f"pigeon {first} has a hole"), on[first]))
        for second in range(first):
            cp.add(places[first] != places[second]).only_enforce_if(on[first], on[second])
    for number in range(spare):
        demands.append((Demand("job", f"idle {number}", "is idle"), on[holes + 1 + number]))
    return cp, demands


def test_demands_whose_core_the_solver_names_are_made_as_few_as_can_be():
    found = smallest_conflict(*pigeons(3, spare=5), Settings())

    assert found.smallest
    assert found.jobs == ("0", "1", "2", "3")


def test_where_the_solver_names_no_core_needless_demands_are_left_out_all_the_same(monkeypatch):
    monkeypatch.setattr(conflict, "_core", lambda *_: ("UNKNOWN", None))
    found = smallest_conflict(*pigeons(3, spare=5), Settings())

    assert not found.smallest
    assert found.jobs == ("0", "1", "2", "3")


def test_a_long_conflict_that_is_not_proven_small_says_so_and_lists_a_few():
    many = tuple(Demand("job", str(n), f"job {n} is done") for n in range(40))
    words = Conflict(many, smallest=False).words

    assert words.startswith("Among 40 demands") and words.count("is done") == 12
