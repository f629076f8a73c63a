"""Calls that meet in the database: the one that comes too late is refused, and none fails."""

import datetime
import json
import random
import threading
import time
import traceback

import pytest
from django.db import connection, transaction

from maintenance.models import (
    Component,
    IntervalRule,
    PlanJob,
    PlanPart,
    RecommissioningPlan,
    Vehicle,
)
from maintenance.services.history_file import import_history
from maintenance.services.history_file.export_history import export_history
from maintenance.services.recompute import CHUNK, recompute_collection
from maintenance.services.verify_history import verify_history
from tests.api.callers import Caller
from tests.factories import (
    ComponentFactory,
    MemberFactory,
    PaperFactory,
    PlanJobFactory,
    PlanPartFactory,
    SpecificationLineFactory,
    VehicleFactory,
)
from tests.factories_of_members import PartOfferFactory

pytestmark = pytest.mark.django_db(transaction=True)

TODAY = datetime.date(2026, 11, 25)
THREADS, CALLS = 6, 30
_WAITING = (
    "SELECT count(*) FROM pg_locks"
    " WHERE NOT granted AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
)


@pytest.fixture
def secretary():
    return Caller(MemberFactory(role="secretary").account)


@pytest.fixture
def car(secretary):
    return VehicleFactory(collection=secretary.account.memberships.get().collection)


@pytest.fixture
def no_deadlock(caplog):
    """Whoever waits for another waits in one order: also what is made again must not have met."""
    caplog.set_level("INFO", logger="maintenance.services.collisions")
    yield
    lines = [record.getMessage() for record in caplog.get_records("call")]
    assert [line for line in lines if "deadlock" in line] == []


def somebody_waits():
    with connection.cursor() as cursor:
        for _ in range(200):
            cursor.execute(_WAITING)
            if cursor.fetchone()[0]:
                return True
            time.sleep(0.05)
    return False


def while_taken_away(row, call, *asked, **headers):
    """Make a call that waits for a row which this transaction takes away; return its status."""
    answers = []

    def made():
        try:
            answers.append(call(*asked, **headers))
        finally:
            connection.close()

    caller = threading.Thread(target=made)
    with transaction.atomic():
        row.delete()
        caller.start()
        assert somebody_waits()
    caller.join(30)
    return answers[0].status_code


ROWS = {
    "plan-parts": lambda car: PlanPartFactory(job__plan__vehicle=car),
    "plan-jobs": lambda car: PlanJobFactory(plan__vehicle=car),
    "components": lambda car: ComponentFactory(vehicle=car),
    "papers": lambda car: PaperFactory(vehicle=car),
    "specification-lines": lambda car: SpecificationLineFactory(vehicle=car),
    "part-offers": lambda car: PartOfferFactory(collection=car.collection),
    "vehicles": lambda car: VehicleFactory(collection=car.collection),
}
CHANGES = {
    "plan-parts": {"supplier": "Ostbrook Rubber"},
    "plan-jobs": {"own_hours": 2},
    "components": {"position": "rear"},
    "papers": {"number": "17"},
    "specification-lines": {"value": "2.1"},
    "part-offers": {"supplier": "Ostbrook Rubber"},
    "vehicles": {"model": "Tern"},
}


@pytest.mark.parametrize("noun", ROWS)
def test_a_change_of_what_is_removed_meanwhile_finds_nothing(noun, secretary, car):
    row = ROWS[noun](car)
    path = f"{noun}/{row.pk}"
    assert while_taken_away(row, secretary.patch, path, CHANGES[noun], If_Match="*") == 404


@pytest.mark.parametrize("noun", sorted(ROWS.keys() - {"plan-jobs"}))
def test_a_removal_of_what_is_removed_meanwhile_finds_nothing(noun, secretary, car):
    row = ROWS[noun](car)
    path = f"{noun}/{row.pk}"
    assert while_taken_away(row, secretary.delete, path, If_Match="*") == 404


def test_a_part_of_a_plan_that_is_removed_meanwhile_finds_nothing(secretary, car):
    part = PlanPartFactory(job__plan__vehicle=car)
    path = f"plan-parts/{part.pk}"
    assert while_taken_away(part.plan, secretary.delete, path, If_Match="*") == 404


def test_what_is_added_to_a_car_that_is_removed_meanwhile_is_refused(secretary, car):
    body = {"vehicle": str(car.pk), "kind": "coolant"}
    assert while_taken_away(car, secretary.post, "components", body) == 422


def test_an_import_and_the_nightly_pass_lock_their_cars_in_one_order(car, monkeypatch, no_deadlock):
    club = car.collection
    # The file names them in the opposite order, and in two batches.
    for number in range(CHUNK + 10):
        VehicleFactory(collection=club, registration=f"Z {900 - number}")
    cars = Vehicle.objects.filter(registration__startswith="Z")
    document = json.loads(json.dumps(export_history(collection=club, vehicles=cars), default=str))
    find, batches, nights, outcome = import_history.with_marks, [], [], []

    def recompute():
        try:
            outcome.append(recompute_collection(collection=club, on=TODAY))
        finally:
            connection.close()

    def with_marks(*asked):
        batches.append(asked)
        if len(batches) == 2:
            nights.append(threading.Thread(target=recompute))
            nights[0].start()
            assert somebody_waits()
        return find(*asked)

    monkeypatch.setattr(import_history, "with_marks", with_marks)
    at = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
    asked = {"document": document, "collection": club, "by": None, "at": at, "today": TODAY}
    import_history.import_history(**asked)
    nights[0].join(60)
    assert len(outcome) == 1


def _plan_body(car):
    hours = [{"weekday": "sat", "begins_at": "09:00", "ends_at": "16:00"}]
    return {"vehicle": str(car.pk), "by": "2027-06-30", "people": [{"name": "Ada", "hours": hours}]}


_OF_ALL = {"scope": "collection"}


def _zone(chance):
    return {"time_zone": chance.choice(["UTC", "Europe/Lisbon"])}


def _rule(car, chance):
    scope = chance.choice([{}, {"vehicle": str(car.pk)}])
    terms = {"months": 6, "criticality": "reliability", "name": "changed twice a year"}
    belongs = {"collection": str(car.collection_id), **scope}
    return {**belongs, "kind": "engine-oil", "task": "renew", "source": "own practice", **terms}


def _reading(car):
    return {"vehicle": str(car.pk), "on": "2026-06-02", "value": 50_000}


def _any_call(secretary, cars, chance):
    """Make one call that writes, of any that may meet another one's rows."""
    car = chance.choice(cars)
    plan, job, part, component, rule = (
        model.objects.order_by("?").first()
        for model in (RecommissioningPlan, PlanJob, PlanPart, Component, IntervalRule)
    )
    member = str(secretary.account.memberships.get().pk)
    calls = [
        lambda: secretary.post("recommissioning-plans", _plan_body(car)),
        lambda: secretary.post("components", {"vehicle": str(car.pk), "kind": "coolant"}),
        lambda: secretary.post(
            "service-events",
            {
                "vehicle": str(car.pk),
                "on": "2026-06-01",
                "entries": [{"component": str(component.pk), "action": "renew"}],
            }
            if component
            else {"vehicle": str(car.pk), "on": "2026-06-01"},
        ),
        lambda: secretary.patch(f"vehicles/{car.pk}", {"model": "Tern"}, If_Match="*"),
        lambda: recompute_collection(collection=car.collection, on=TODAY),
        lambda: secretary.post("calendar-feeds", {"member": member, "name": "all", **_OF_ALL}),
        lambda: secretary.patch(f"collections/{car.collection_id}", _zone(chance), If_Match="*"),
        lambda: secretary.post("interval-rules", _rule(car, chance)),
        lambda: secretary.post("odometer-readings", _reading(car)),
        lambda: secretary.get(chance.choice(["recommissioning-plans", "plan-jobs", "due-items"])),
    ]
    if rule:
        path = f"interval-rules/{rule.pk}"
        calls.append(lambda: secretary.delete(path, If_Match="*"))
        calls.append(lambda: secretary.patch(path, {"months": 7}, If_Match="*"))
    if component:
        path = f"components/{component.pk}"
        calls.append(lambda: secretary.delete(path, If_Match="*"))
        calls.append(lambda: secretary.patch(path, {"position": "spare"}, If_Match="*"))
    if plan:
        path = f"recommissioning-plans/{plan.pk}"
        wish = {"kind": "brake-fluid", "task": "renew"}
        calls.append(lambda: secretary.get(f"{path}/{chance.choice(['gantt', 'job-sheet'])}"))
        calls.append(lambda: secretary.post(f"{path}/planning", {}))
        calls.append(lambda: secretary.post(f"{path}/wishes", wish))
        calls.append(lambda: secretary.patch(path, {"by": "2027-05-31"}, If_Match="*"))
        calls.append(lambda: secretary.delete(path, If_Match="*"))
    if job:
        done = {"on": "2026-06-01", "plan_again": chance.random() < 0.5}
        part_of_it = {"job": str(job.pk), "name": f"part {chance.randrange(3)}", "price": 1}
        calls.append(lambda: secretary.post(f"plan-jobs/{job.pk}/done", done))
        calls.append(lambda: secretary.post("plan-parts", part_of_it))
        calls.append(lambda: secretary.patch(f"plan-jobs/{job.pk}", {"own_hours": 2}, If_Match="*"))
    if part:
        path = f"plan-parts/{part.pk}"
        calls.append(lambda: secretary.delete(path, If_Match="*"))
        calls.append(lambda: secretary.patch(path, {"lead_days": 3}, If_Match="*"))
    return chance.choice(calls)()


def test_many_calls_at_once_answer_or_refuse_and_leave_the_chain_whole(secretary, car, no_deadlock):
    cars = [car, VehicleFactory(collection=car.collection)]
    for each in cars:
        for kind in ("brake-fluid", "brake-hose", "engine-oil"):
            ComponentFactory(vehicle=each, kind=kind)
    answers, failures = [], []

    def call(seed):
        chance = random.Random(seed)
        try:
            for _ in range(CALLS):
                answer = _any_call(secretary, cars, chance)
                answers.append(getattr(answer, "status_code", 200))
        except Exception as failure:
            failures.append("".join(traceback.format_exception(failure)))
        finally:
            connection.close()

    threads = [threading.Thread(target=call, args=(seed,)) for seed in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(240)
    assert not failures, failures[0]
    assert len(answers) == THREADS * CALLS
    assert set(answers) <= {200, 201, 204, 404, 409, 412, 422}
    assert {201, 204} <= set(answers)
    assert all(not each.faults for each in verify_history(cars))
