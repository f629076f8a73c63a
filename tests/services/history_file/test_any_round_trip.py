"""Whatever was recorded, put off, corrected and taken back comes back to the byte."""

import datetime
import json

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.models import (
    Collection,
    Component,
    Departure,
    DueItem,
    Inspection,
    IntervalRule,
    Paper,
    Postponement,
    ServiceEvent,
    Vehicle,
)
from maintenance.services.components import add_component, change_component, remove_component
from maintenance.services.departures import leave
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.export_history import as_text, export_history
from maintenance.services.inspections import correct_inspection, record_inspection
from maintenance.services.interval_rules import remove_interval_rule
from maintenance.services.papers import change_paper, remove_paper
from maintenance.services.postponements import put_off
from maintenance.services.refusals import Refused
from maintenance.services.service_events import record_service_event
from maintenance.services.vehicles import change_vehicle
from maintenance.services.verify_history import verify_history
from tests.services.asking import entry, event
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_check import RULE

pytestmark = pytest.mark.django_db

FAULT = {"kind": "brake-pads", "position": "front", "category": "major"}
FAILED = {"on": "2026-05-10", "result": "fail", "findings": [FAULT, FAULT]}
BEFORE = file_of(
    car(
        components=[*car()["components"], {"kind": "coolant"}, {"kind": "battery"}],
        inspections=[FAILED, FAILED, FAILED | {"on": "2025-05-10"}],
        papers=[
            {"kind": "insurance", "number": "P1", "until": "2026-12-31"},
            {"kind": "vehicle-tax", "until": "2026-12-31"},
        ],
    ),
    interval_rules=[
        RULE,
        RULE | {"kind": "coolant", "task": "adjust", "vehicle": "HM 77"},
        RULE | {"kind": "battery", "task": "clean"},
    ],
)
DAYS = st.sampled_from(["2026-05-10", "2026-06-01", "2026-11-24"])
FEW = st.integers(0, 40)
AHEAD = st.sampled_from([0, 30, 400])


def failed(on):
    found = FindingDraft(place=Place("brake-pads", "front"), category="major")
    return InspectionDraft(
        on=datetime.date.fromisoformat(on), result="fail", findings=(found, found)
    )


def one_of(rows, number):
    """One of some rows, picked alike for the same history; None if there is none."""
    rows = list(rows)
    return rows[number % len(rows)] if rows else None


def in_force(model):
    return model.objects.filter(current=True, withdrawn=False).order_by("pk")


class Acts:
    """What people do with the one car there is, each a draw away."""

    def __init__(self, when):
        self.when = when
        self.today = {"today": when["today"]}

    @property
    def car(self):
        return Vehicle.objects.get()

    def put_off(self, number, ahead, on):
        of = one_of(["rule", "inspection", "finding", "paper"], number)
        items = DueItem.objects.filter(key__startswith=of).order_by("kind", "task", "pk")
        item = one_of(items, number // 4)
        until = self.when["today"] + datetime.timedelta(days=ahead)
        if item:
            put_off(due_item=item, until=until, why=f"waits {number % 2}", **self.when)

    def renew(self, number, ahead, on):
        kind = one_of(["brake-fluid", "coolant", "battery"], number)
        record_service_event(vehicle=self.car, draft=event(entry(kind), on=on), **self.when)

    def fail(self, number, ahead, on):
        record_inspection(vehicle=self.car, draft=failed(on), **self.when)

    def correct(self, number, ahead, on):
        row = one_of(in_force(Inspection), number)
        if row:
            correct_inspection(inspection=row, draft=failed(on), reason="misread", **self.when)

    def take_back(self, number, ahead, on):
        model = one_of([Postponement, Inspection, ServiceEvent], ahead)
        row = one_of(in_force(model), number)
        if row:
            withdraw(record=row, reason="none of this", **self.when)

    def end_a_rule(self, number, ahead, on):
        rule = one_of(IntervalRule.objects.order_by("pk"), number)
        if rule:
            remove_interval_rule(interval_rule=rule, version=rule.version, **self.today)

    def end_a_paper(self, number, ahead, on):
        paper = one_of(Paper.objects.order_by("pk"), number)
        if paper and ahead:
            remove_paper(paper=paper, version=paper.version, **self.today)
        elif paper:
            said = {"number": f"N{number}"}
            change_paper(paper=paper, version=paper.version, changes=said, **self.today)

    def another_place(self, number, ahead, on):
        part = one_of(Component.objects.filter(kind__in=["coolant", "battery"]).order_by("pk"), 0)
        if part is None or ahead == 400:
            add_component(vehicle=self.car, kind="coolant", **self.today)
        elif ahead:
            remove_component(component=part, version=part.version, **self.today)
        else:
            said = {"position": f"{number % 2}"}
            change_component(component=part, version=part.version, changes=said, **self.today)

    def no_regime(self, number, ahead, on):
        said = {"inspection_regime": "gb" if number % 2 else ""}
        change_vehicle(vehicle=self.car, version=self.car.version, changes=said, **self.today)

    def leave(self, number, ahead, on):
        day = datetime.date.fromisoformat(on)
        leave(vehicle=self.car, on=day, how="sold", note="" if number % 2 else "far", **self.when)

    def come_back(self, number, ahead, on):
        row = in_force(Departure).first()
        if row:
            withdraw(record=row, reason="came back", **self.when)


KINDS = sorted(name for name in vars(Acts) if not name.startswith("_") and name != "car")
# A third of the acts put something off, or there would be little to bring back.
ACTS = st.lists(
    st.tuples(st.sampled_from([*KINDS, *["put_off"] * 5]), FEW, AHEAD, DAYS),
    max_size=12,
)


def text_of(collection):
    return as_text(export_history(collection=collection))


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=ACTS)
def test_any_history_comes_back_to_the_byte_and_adds_nothing_where_it_came_from(acts, when):
    with transaction.atomic():
        take(BEFORE, when)
        doing = Acts(when)
        for kind, *drawn in acts:
            try:
                getattr(doing, kind)(*drawn)
            except Refused:
                continue
        here = Collection.objects.get()
        first = text_of(here)
        assert not +take(json.loads(first), when).added
        Collection.objects.update(name="before")
        take(json.loads(first), when)
        there = Collection.objects.exclude(name="before").get()
        assert text_of(there) == first
        assert put_off_now(there) == put_off_now(here)
        assert not [fault for car in verify_history(Vehicle.objects.all()) for fault in car.faults]
        transaction.set_rollback(True)


def put_off_now(collection):
    """What the due list shows as put off."""
    holding = in_force(Postponement).filter(collection=collection)
    return sorted(
        (item.kind, item.position, item.task, item.cycle, row.until, row.why)
        for row in holding
        for item in DueItem.objects.filter(
            vehicle=row.vehicle_id, key=row.item_key, cycle=row.cycle
        )
    )
