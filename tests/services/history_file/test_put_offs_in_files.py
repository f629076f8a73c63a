"""What was put off, in history files: named by what holds in any database, kept when it is past."""

import dataclasses
import json

import pytest

from maintenance.models import DueItem, Inspection, Paper, Postponement, Vehicle
from maintenance.queries.due_items import due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.services.components import remove_component
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.stored import stored_cars
from maintenance.services.inspections import correct_inspection
from maintenance.services.papers import remove_paper
from maintenance.services.postponements import put_off
from maintenance.services.service_events import record_service_event
from maintenance.services.verify_history import verify_history
from tests.services.asking import day, entry, event
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_byte_round_trip import text, twice
from tests.services.history_file.test_check import RULE, refusal
from tests.services.history_file.test_departures_in_files import added
from tests.services.history_file.test_moves_in_files import problems

pytestmark = pytest.mark.django_db

FAULT = {"kind": "brake-pads", "position": "front", "category": "major", "note": "thin"}
HELD = {
    "papers": [{"kind": "insurance", "number": "P1", "until": "2026-12-31"}],
    "inspections": [{"on": "2026-05-10", "result": "fail", "findings": [FAULT, FAULT]}],
}
FLUID = {
    "component": {"kind": "brake-fluid", "task": "renew"},
    "rule": "brake fluid renewal",
    "since": "2026-05-01",
    "until": "2026-12-24",
    "why": "The fluid is on order.",
}
FINDING = {
    "finding": FAULT | {"on": "2026-05-10", "which": 2},
    "rule": "major finding of 2026-05-10",
    "until": "2026-12-24",
    "why": "The pads are on order.",
}
PAPER = {
    "paper": HELD["papers"][0],
    "rule": "insurance P1",
    "until": "2026-12-24",
    "why": "The car stands.",
}
INSPECTION = {
    "inspection": True,
    "rule": "roadworthiness inspection",
    "until": "2026-12-24",
    "why": "The car stands.",
}
ALL = [FINDING, INSPECTION, PAPER, FLUID]


def put(*postponements, **said):
    return car(**HELD, postponements=list(postponements), **said)


def shown(today):
    """Return what the due lists of all cars show as put off."""
    items = due_list(Vehicle.objects.all(), on=today).select_related("vehicle")
    return [item for item in with_put_offs(items, on=today) if item.put_off]


def test_each_kind_of_due_item_can_be_put_off_by_a_file(when, today):
    report = take(file_of(put(*ALL)), when)
    assert (report.added["postponements"], report.warnings) == (4, [])
    items = {item.key.split(":")[0]: item for item in shown(today)}
    assert set(items) == {"rule", "finding", "paper", "inspection"}
    assert {kind: item.put_off.why for kind, item in items.items()} == {
        "rule": "The fluid is on order.",
        "finding": "The pads are on order.",
        "paper": "The car stands.",
        "inspection": "The car stands.",
    }
    second = Inspection.objects.get().findings.get(sequence=1)
    assert items["finding"].finding == second
    assert [car.faults for car in verify_history(Vehicle.objects.all())] == [[]]


def test_they_come_back_to_the_byte_and_twice_add_nothing(when):
    take(file_of(put(*ALL)), when)
    assert added(take(json.loads(text()), when)) == {}
    first, second = twice(when)
    assert first == second
    assert sorted(json.loads(first)["vehicles"][0]["postponements"], key=str) == sorted(
        ALL, key=str
    )


def test_what_is_put_off_in_the_service_is_what_a_file_puts_off(when):
    take(file_of(put()), when)
    for key in ("rule", "finding", "paper", "inspection"):
        for item in DueItem.objects.filter(key__startswith=key):
            put_off(due_item=item, until=day("2026-12-24"), why="later", **when)
    services = {(row.item_key, row.cycle, row.kind, row.position, row.rule) for row in stored()}
    document = json.loads(text())
    for row in stored():
        withdraw(record=row, reason="to have it from the file", **when)
    # Under other words, or the file would bring back what was withdrawn.
    for said in document["vehicles"][0]["postponements"]:
        said["why"] = "as the file says"
    report = take(document, when)
    assert {(row.item_key, row.cycle, row.kind, row.position, row.rule) for row in stored()} == (
        services
    )
    assert report.warnings == [] and len(services) > 8


def stored():
    return list(Postponement.objects.filter(current=True, withdrawn=False))


def test_what_was_put_off_until_the_work_was_done_comes_back_as_past(when, today):
    take(file_of(put(FLUID)), when)
    done = event(entry(), on="2026-11-24")
    record_service_event(vehicle=Vehicle.objects.get(), draft=done, **when)
    first, second = twice(when)
    assert first == second and json.loads(first)["vehicles"][0]["postponements"] == [FLUID]
    assert not shown(today)


def test_one_that_was_withdrawn_or_said_anew_is_not_brought_back_by_the_old_file(when):
    take(file_of(put(FLUID, PAPER)), when)
    fluid = DueItem.objects.get(kind="brake-fluid", task="renew")
    put_off(due_item=fluid, until=day("2027-01-15"), why="Still on order.", **when)
    paper = Postponement.objects.get(kind="insurance")
    withdraw(record=paper, reason="not so", **when)
    assert added(take(file_of(put(FLUID, PAPER)), when)) == {}
    later = FLUID | {"until": "2027-01-15", "why": "Still on order."}
    assert json.loads(text())["vehicles"][0]["postponements"] == [later]


def test_a_file_that_puts_an_item_off_for_longer_supersedes_the_word_before(when):
    take(file_of(put(FLUID)), when)
    longer = FLUID | {"until": "2027-01-15", "why": "Still on order."}
    assert added(take(file_of(put(longer)), when)) == {"postponements": 1}
    (row,) = stored()
    assert (row.until, row.supersedes.until) == (day("2027-01-15"), day("2026-12-24"))
    assert row.reason == "Still on order."
    assert [car.faults for car in verify_history(Vehicle.objects.all())] == [[]]


def test_another_word_that_reaches_no_further_is_refused(when):
    take(file_of(put(FLUID)), when)
    shorter = FLUID | {"until": "2026-12-01", "why": "next week"}
    found = problems(take, file_of(put(shorter)), when)
    assert list(found) == ["/vehicles/0/postponements/0/until"]
    assert "until 2026-12-24: 'The fluid is on order.'" in found.popitem()[1]


def test_the_same_item_twice_is_refused(when):
    found = refusal(file_of(put(FLUID, FLUID | {"until": "2027-01-01"})), when)
    assert "/vehicles/0/postponements/0" in found["/vehicles/0/postponements/1"]


def without(key, **said):
    return {name: value for name, value in FLUID.items() if name != key} | said


def of(kind, task, **said):
    return FLUID | {"component": {"kind": kind, "task": task}} | said


def fault(**said):
    return FINDING | {"finding": FINDING["finding"] | said}


LAID_UP = {"component": FLUID["component"] | {"applies": "laid up"}}


@pytest.mark.parametrize(
    ("said", "pointer", "word"),
    [
        (of("brake-fliud", "renew"), "component/kind", "'brake-fluid'"),
        (of("coolant", "renew"), "component/kind", "add the component"),
        (of("brake-pads", "inspect"), "component/position", "'brake-pads front'"),
        (of("brake-fluid", "renw"), "component/task", "'renew'"),
        (of("brake-fluid", "lubricate"), "component/task", "but to inspect, renew"),
        (of("brake-fluid", None), "component/task", "is missing"),
        (FLUID | {"component": "brake-fluid"}, "component", "must be an object"),
        (FLUID | LAID_UP, "component/applies", "'laid_up'"),
        (without("component"), "component", "one of component, finding, paper"),
        (FLUID | {"paper": PAPER["paper"]}, "paper", "beside component"),
        (FLUID | {"componet": {}}, "componet", "'component'"),
        (fault(which=3), "finding", "of 2026-05-10"),
        (fault(on="2026-05-11"), "finding", "of 2026-05-10"),
        (fault(on=None), "finding/on", "is missing"),
        (fault(kind=None), "finding/kind", "is missing"),
        (fault(category="advisory"), "finding/category", "major"),
        (PAPER | {"paper": PAPER["paper"] | {"number": "P2"}}, "paper", "insurance P1"),
        (PAPER | {"paper": PAPER["paper"] | {"until": 2026}}, "paper/until", "date"),
        (PAPER | {"paper": PAPER["paper"] | {"until": None}}, "paper/until", "gone"),
        (PAPER | {"paper": PAPER["paper"] | {"kind": None}}, "paper/kind", "is missing"),
        (FLUID | {"until": None}, "until", "is missing"),
        (FLUID | {"until": "2026-04-30"}, "until", "before the clock"),
        (FLUID | {"since": "2026-11-26"}, "since", "after today"),
        (FLUID | {"why": " "}, "why", "is missing"),
        (FLUID | {"rule": "x" * 161}, "rule", "shorten"),
        (without("rule"), "rule", "is missing"),
        (FLUID | {"gone": "yes"}, "gone", "true or false"),
        (of("fluid", "renew", gone=True), "component/kind", "known"),
        (of("coolant", "do", gone=True), "component/task", "renew"),
        (PAPER | {"gone": True, "paper": {"kind": "licence"}}, "paper/kind", "insurance"),
    ],
)
def test_one_that_makes_no_sense_is_refused_once_with_its_place(said, pointer, word, when):
    found = refusal(file_of(put(said)), when)
    assert list(found) == [f"/vehicles/0/postponements/0/{pointer}"]
    assert word in found[f"/vehicles/0/postponements/0/{pointer}"]


def test_every_error_of_one_is_told_at_once(when):
    wrong = {"component": {"kind": "coolant", "task": "renw"}, "since": "2026-11-26", "until": 1}
    assert set(refusal(file_of(put(wrong)), when)) == {
        f"/vehicles/0/postponements/0/{pointer}"
        for pointer in ("component/kind", "component/task", "since", "until", "why", "rule")
    }


def test_the_inspection_of_a_car_that_is_never_inspected_is_not_put_off(when):
    bare = car(inspection_regime=None, postponements=[INSPECTION])
    found = refusal(file_of(bare), when)
    assert "no" in found["/vehicles/0/postponements/0/inspection"]


def test_an_item_may_hang_on_a_rule_of_the_same_file(when, today):
    rule = RULE | {"task": "adjust", "name": "fluid adjusted"}
    adjusted = {"component": {"kind": "brake-fluid", "task": "adjust"}, "rule": "fluid adjusted"}
    said = adjusted | {"since": "2026-05-01", "until": "2026-12-24", "why": "later"}
    assert take(file_of(put(said), interval_rules=[rule]), when).warnings == []
    assert [item.task for item in shown(today)] == ["adjust"]
    assert "/vehicles/0/postponements/0/component/task" in problems(
        take, file_of(put(said), collection={"name": "elsewhere"}), when
    )


def test_what_puts_nothing_off_though_its_day_is_to_come_is_noted(when):
    no_clock = without("since")
    pads = {"kind": "brake-pads", "position": "front", "task": "renew"}
    long_past = FLUID | {"since": "2020-05-01", "until": "2020-12-24"}
    report = take(
        file_of(put(no_clock, FLUID | {"component": pads}, long_past)), when, dry_run=True
    )
    assert [warning.split(":")[0] for warning in report.warnings] == [
        "/vehicles/0/postponements/0/since",
        "/vehicles/0/postponements/1/since",
    ]
    assert "started on 2026-05-01" in report.warnings[0]


GONE = [
    {
        "component": {"kind": "coolant", "task": "renew"},
        "rule": "coolant renewal",
        "until": "2026-12-24",
        "why": "later",
        "gone": True,
    },
    {
        "finding": {"kind": "brake-pads", "position": "front"},
        "rule": "major finding of 2026-05-10",
        "until": "2026-12-24",
        "why": "The pads are on order.",
        "gone": True,
    },
    {
        "paper": {"kind": "insurance"},
        "rule": "insurance P1",
        "until": "2026-12-24",
        "why": "The car stands.",
        "gone": True,
    },
]


@pytest.fixture
def forgotten(when, today):
    """A car of which a component, a finding and a paper were put off, and are there no more."""
    components = [*car()["components"], {"kind": "coolant"}]
    before = put(FINDING, PAPER, components=components)
    take(file_of(before), when)
    coolant = DueItem.objects.get(kind="coolant", task="renew")
    put_off(due_item=coolant, until=day("2026-12-24"), why="later", **when)
    component = coolant.component
    remove_component(component=component, version=component.version, today=today)
    paper = Paper.objects.get()
    remove_paper(paper=paper, version=paper.version, today=today)
    (inspected,) = (
        one for stored in stored_cars(Vehicle.objects.all()) for one in stored.contents.inspections
    )
    right = dataclasses.replace(inspected, findings=inspected.findings[:1])
    correct_inspection(inspection=Inspection.objects.get(), draft=right, reason="one fault", **when)
    return before


def test_what_is_put_off_and_gone_is_exported_as_gone_and_comes_back(forgotten, when):
    first, second = twice(when)
    assert first == second
    assert json.loads(first)["vehicles"][0]["postponements"] == sorted(
        GONE, key=lambda said: json.dumps(said)
    )


def test_the_file_from_before_it_was_gone_brings_nothing_back_of_it(forgotten, when):
    forgotten["components"].pop()
    forgotten["papers"] = []
    assert added(take(file_of(forgotten), when)) == {}
    assert Postponement.objects.count() == 3


def test_what_is_gone_in_a_file_puts_nothing_off_that_is_there(when, today):
    take(file_of(put(FINDING | {"gone": True}, FLUID | {"gone": True})), when)
    assert not shown(today)
