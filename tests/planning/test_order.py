import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.planning.errors import CycleError, PlanningError
from maintenance.planning.jobs import Job
from maintenance.planning.order import Prerequisite, in_order, prerequisites
from maintenance.planning.rules import JobRules, PrecedenceRule, SequenceRule
from maintenance.planning.selectors import SAME_AXLE, Selector


def job(kind: str, position: str = "", task: str = "renew") -> Job:
    return Job(f"{task} {kind} {position}".strip(), kind=kind, position=position, task=task)


def test_jobs_that_wait_for_each_other_are_named():
    jobs = [job("brake-hose", "front left"), job("brake-fluid")]
    ring = [Prerequisite(jobs[0].id, jobs[1].id), Prerequisite(jobs[1].id, jobs[0].id)]

    with pytest.raises(CycleError, match="renew brake-hose front left -> renew brake-fluid"):
        in_order(jobs, ring)


def test_a_rule_of_one_axle_leaves_the_other_axle_alone():
    rule = PrecedenceRule(
        "discs first", Selector(("brake-discs",)), Selector(("brake-pads",)), "why", "x", SAME_AXLE
    )
    jobs = [job("brake-discs", "front"), job("brake-pads", "front"), job("brake-pads", "rear")]

    steps = prerequisites(jobs, JobRules(precedence=(rule,)))

    assert [(s.before, s.after) for s in steps] == [
        ("renew brake-discs front", "renew brake-pads front")
    ]


def test_bleeding_follows_the_positions_of_its_rule_also_where_one_is_missing():
    rule = SequenceRule(
        "far end first", Selector(("circuit",)), ("rear left", "rear right", "front left"), "w", "x"
    )
    jobs = [job("circuit", "front left"), job("circuit", "rear left")]

    steps = prerequisites(jobs, JobRules(sequence=(rule,)))

    assert [(s.before, s.after) for s in steps] == [
        ("renew circuit rear left", "renew circuit front left")
    ]


def test_the_longest_wait_between_two_jobs_counts():
    jobs = [job("paint"), job("polish")]
    own = [Prerequisite(jobs[0].id, jobs[1].id, lag_days=n) for n in (1, 3, 2)]

    steps = prerequisites(jobs, JobRules(), own)

    assert [step.lag_days for step in steps] == [3]


def test_a_prerequisite_of_an_unknown_job_is_refused_by_name():
    with pytest.raises(PlanningError, match="'gearbox'"):
        in_order([job("clutch")], [Prerequisite("gearbox", "renew clutch")])


def test_an_id_used_twice_is_refused():
    with pytest.raises(PlanningError, match="used twice"):
        in_order([job("clutch"), job("clutch")], [])


arrows = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=20)


@given(arrows)
def test_an_order_exists_exactly_where_an_independent_graph_library_finds_no_ring(pairs):
    jobs = [Job(str(n)) for n in range(8)]
    steps = [Prerequisite(str(a), str(b)) for a, b in pairs]
    graph = networkx.DiGraph(pairs)

    try:
        order = [one.id for one in in_order(jobs, steps)]
    except CycleError as ring:
        assert not networkx.is_directed_acyclic_graph(graph)
        assert all(graph.has_edge(int(a), int(b)) for a, b in _pairs(ring.jobs))
    else:
        assert networkx.is_directed_acyclic_graph(graph)
        assert all(order.index(str(a)) < order.index(str(b)) for a, b in pairs)


def _pairs(names):
    return list(zip(names, names[1:], strict=False))
