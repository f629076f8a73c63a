"""Two clubs that must not see each other, and within one club what each role and scope may do."""

import json

import pytest
from django.test import Client

from api.urls import NOUNS
from tests.api.callers import Caller, pointers
from tests.factories import (
    NOW,
    AccessTokenFactory,
    AttachmentFactory,
    CarriedOverFactory,
    ComponentFactory,
    DepartureFactory,
    DueItemFactory,
    FindingFactory,
    IntervalRuleFactory,
    LayUpFactory,
    MeasurementFactory,
    MemberFactory,
    OdometerChangeFactory,
    OdometerReadingFactory,
    PaperFactory,
    PlanPartFactory,
    PostponementFactory,
    SpecificationLineFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


def furnished(car):
    """Give a car one row of every noun; returns a row by the noun's address."""
    component = ComponentFactory(vehicle=car, kind="tyre", position="front left")
    measurement = MeasurementFactory(entry__event__vehicle=car, entry__component=component)
    CarriedOverFactory(entry=measurement.entry)
    finding = FindingFactory(inspection__vehicle=car, component=component)
    part = PlanPartFactory(job__plan__vehicle=car)
    return {
        "collections": car.collection,
        "members": car.keeper or MemberFactory(collection=car.collection, role="viewer"),
        "vehicles": car,
        "specification-lines": SpecificationLineFactory(vehicle=car),
        "papers": PaperFactory(vehicle=car),
        "components": component,
        "interval-rules": IntervalRuleFactory(collection=car.collection, vehicle=car),
        "lay-ups": LayUpFactory(vehicle=car),
        "odometer-readings": OdometerReadingFactory(vehicle=car),
        "odometer-changes": OdometerChangeFactory(vehicle=car),
        "service-events": measurement.entry.event,
        "inspections": finding.inspection,
        "findings": finding,
        "due-items": DueItemFactory(component=component),
        "postponements": PostponementFactory(vehicle=car),
        "departures": DepartureFactory(vehicle=car),
        "attachments": AttachmentFactory(vehicle=car, service_event=measurement.entry.event),
        "recommissioning-plans": part.plan,
        "plan-jobs": part.job,
        "plan-parts": part,
    }


OF_CARS = sorted(NOUNS.keys() - {"component-kinds"})


def test_every_noun_of_a_collection_is_tried_here(car):
    assert furnished(car).keys() == set(OF_CARS)


@pytest.mark.parametrize("noun", OF_CARS)
def test_another_clubs_rows_are_as_if_they_were_not_there(secretary, stranger, car, noun):
    row = furnished(car)[noun]
    assert secretary.get(f"{noun}/{row.pk}").status_code == 200
    answer = stranger.get(f"{noun}/{row.pk}")
    assert answer.status_code == 404
    assert str(row.pk) not in {each["id"] for each in stranger.items(noun)}


@pytest.mark.parametrize("noun", OF_CARS)
def test_a_row_that_is_hidden_answers_like_one_that_never_was(stranger, car, noun):
    hidden = stranger.get(f"{noun}/{furnished(car)[noun].pk}")
    nowhere = stranger.get(f"{noun}/01931b5e-7b00-7b22-8a3b-1c2d3e4f5061")
    assert hidden.content == nowhere.content
    assert "ETag" not in hidden.headers


@pytest.mark.parametrize("noun", sorted(set(OF_CARS) - {"collections", "members"}))
def test_filters_do_not_reach_into_another_club(stranger, car, noun):
    furnished(car)
    by_car = {"vehicle": car.id} if noun != "vehicles" else {"registration": car.registration}
    for query in (by_car, {"collection": car.collection_id}):
        assert stranger.get(noun, query).json() == {"items": [], "next": None}


@pytest.mark.parametrize("noun", sorted(set(OF_CARS) - {"collections", "members"}))
def test_a_keeper_sees_their_own_car_and_no_other(club, car, noun):
    keeper = MemberFactory(collection=club, role="keeper")
    own_car = VehicleFactory(collection=club, keeper=keeper)
    own, others = furnished(own_car)[noun], furnished(car)[noun]
    caller = Caller(keeper.account)
    assert caller.get(f"{noun}/{own.pk}").status_code == 200
    assert caller.get(f"{noun}/{others.pk}").status_code == 404
    cars = {each.get("vehicle", each["id"]) for each in caller.items(noun)}
    assert cars == {str(own_car.pk)}


@pytest.mark.parametrize("noun", OF_CARS)
def test_a_viewer_sees_the_whole_collection(club, car, noun):
    row = furnished(car)[noun]
    viewer = MemberFactory(collection=club, role="viewer")
    row = viewer if noun == "members" else row
    assert Caller(viewer.account).get(f"{noun}/{row.pk}").status_code == 200


def test_a_collections_rule_for_all_its_cars_is_seen_by_a_keeper(club):
    rule = IntervalRuleFactory(collection=club)
    keeper = Caller(MemberFactory(collection=club, role="keeper").account)
    assert [each["id"] for each in keeper.items("interval-rules")] == [str(rule.pk)]


def test_a_keeper_sees_no_other_member(club, secretary):
    keeper = MemberFactory(collection=club, role="keeper")
    seen = Caller(keeper.account).items("members")
    assert [each["id"] for each in seen] == [str(keeper.pk)]
    assert len(secretary.items("members")) == 2


def test_an_account_without_a_membership_sees_empty_lists(db, car):
    nobody = Caller(MemberFactory(role="viewer").account)
    nobody.account.memberships.all().delete()
    for noun in OF_CARS:
        assert nobody.items(noun) == []


@pytest.mark.parametrize(
    "noun", ["papers", "components", "lay-ups", "odometer-readings", "service-events"]
)
def test_another_clubs_car_can_not_be_written_on(stranger, car, noun):
    body = {"vehicle": str(car.id)}
    answer = stranger.post(noun, body)
    nowhere = stranger.post(noun, {"vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061"})
    assert answer.status_code == 422
    assert "/vehicle" in pointers(answer)
    assert answer.content == nowhere.content


def test_another_clubs_records_can_not_be_corrected(stranger, car):
    reading = OdometerReadingFactory(vehicle=car)
    for verb in ("corrections", "withdrawal"):
        answer = stranger.post(f"odometer-readings/{reading.pk}/{verb}", {"reason": "mine"})
        assert answer.status_code == 404


def test_another_clubs_car_can_not_be_changed_or_removed(stranger, car):
    assert stranger.patch(f"vehicles/{car.pk}", {"make": "X"}, If_Match="*").status_code == 404
    assert stranger.delete(f"vehicles/{car.pk}", If_Match="*").status_code == 404


def test_the_true_version_of_another_clubs_car_opens_nothing(secretary, stranger, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    assert stranger.get(f"vehicles/{car.id}", If_None_Match=tag).status_code == 404
    assert stranger.patch(f"vehicles/{car.id}", {"model": "x"}, If_Match=tag).status_code == 404
    assert stranger.delete(f"vehicles/{car.id}", If_Match=tag).status_code == 404


def test_a_plate_of_another_clubs_car_may_be_taken_without_a_hint_of_it(stranger, car):
    (own,) = stranger.items("collections")
    body = {"make": "Tarnbrook", "model": "1200", "odometer_unit": "km"}
    answer = stranger.post(
        "vehicles", body | {"collection": own["id"], "registration": car.registration}
    )
    assert answer.status_code == 201


def test_a_car_can_not_be_given_to_a_member_of_another_club(secretary, stranger, car):
    theirs = stranger.account.memberships.get()
    answer = secretary.patch(f"vehicles/{car.pk}", {"keeper": str(theirs.pk)}, If_Match="*")
    assert answer.status_code == 422
    assert pointers(answer) == {"/keeper"}


@pytest.mark.parametrize(
    ("scope", "recorded", "managed"),
    [("read", 403, 403), ("record", 422, 403), ("manage", 422, 422)],
)
def test_a_token_does_no_more_than_its_scope(club, scope, recorded, managed):
    caller = Caller(MemberFactory(collection=club).account, scope=scope)
    assert caller.get("vehicles").status_code == 200
    assert caller.post("lay-ups", {}).status_code == recorded
    assert caller.post("vehicles", {}).status_code == managed


@pytest.mark.parametrize("role", ["keeper", "viewer"])
def test_only_officers_add_cars(club, role):
    caller = Caller(MemberFactory(collection=club, role=role).account)
    body = {"collection": str(club.id), "registration": "HM 900", "make": "Tarnbrook"}
    answer = caller.post("vehicles", body | {"model": "Heron", "odometer_unit": "km"})
    assert answer.status_code == 403


def test_the_technical_officer_changes_cars_and_not_the_collection(club, car):
    officer = Caller(MemberFactory(collection=club, role="technical_officer").account)
    changed = officer.patch(f"vehicles/{car.id}", {"model": "Egret"}, If_Match="*")
    assert changed.status_code == 200
    renamed = officer.patch(f"collections/{club.id}", {"name": "Mine"}, If_Match="*")
    assert renamed.status_code == 403


def test_a_token_that_expired_or_was_revoked_opens_nothing(club):
    account = MemberFactory(collection=club).account
    expired = AccessTokenFactory(account=account, issued_at=NOW.replace(year=2020), expires_at=NOW)
    revoked = AccessTokenFactory(account=account, revoked_at=NOW)
    for token in (expired, revoked):
        caller = Client(headers={"Authorization": f"Bearer idle_{token.name}"})
        assert caller.get("/api/v1/vehicles").status_code == 401


def test_a_browser_session_may_read_and_writes_only_with_its_csrf_token(club, car):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(MemberFactory(collection=club).account)
    assert browser.get(f"/api/v1/vehicles/{car.id}").status_code == 200
    answer = browser.post("/api/v1/lay-ups", "{}", content_type="application/json")
    assert answer.status_code == 403
    assert json.loads(answer.content)["type"] == "/api/v1/problems/not-permitted"
