"""Cars offered and taken over HTTP: who may, and what each side sees before and after."""

import pytest

from api.urls import NOUNS
from maintenance.models import Vehicle
from tests.api.callers import Caller, pointers
from tests.factories import ComponentFactory, MemberFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper(club, car):
    member = MemberFactory(collection=club, role="keeper")
    Vehicle.objects.filter(pk=car.pk).update(keeper=member)
    return Caller(member.account)


@pytest.fixture
def next_keeper(club):
    return Caller(MemberFactory(collection=club, role="keeper").account)


@pytest.fixture
def history(secretary, car):
    ComponentFactory(vehicle=car, kind="brake-fluid")
    entry = {"kind": "brake-fluid", "action": "renew"}
    body = {"vehicle": str(car.pk), "on": "2026-06-01", "entries": [entry]}
    return secretary.post("service-events", body).json()


def member_of(caller):
    return caller.account.memberships.get()


def offered(caller, car, **said):
    return caller.post("transfers", {"vehicle": str(car.pk)} | said)


def taken(caller, code, **said):
    there = {"code": code, "collection": str(member_of(caller).collection_id)}
    return caller.post("transfers/acceptance", there | said)


def test_a_car_is_taken_with_its_history_and_the_head_to_note(secretary, stranger, car, history):
    code = offered(secretary, car).json()["code"]
    answer = taken(stranger, code)
    assert answer.status_code == 201
    assert answer.json()["history_length"] == 1
    head = stranger.get(f"vehicles/{car.pk}/history-head").json()
    assert answer.json()["history_head"] == head["digest"]
    assert stranger.get(answer["Location"]).json()["registration"] == car.registration
    assert stranger.get(f"service-events/{history['id']}").status_code == 200


def test_after_it_the_old_collection_has_the_mark_and_the_head_alone(
    secretary, stranger, car, history
):
    offer = offered(secretary, car).json()
    taken(stranger, offer["code"])
    for noun in sorted(NOUNS.keys() - {"collections", "members", "component-kinds"}):
        assert secretary.items(noun) == []
    left = secretary.get(f"transfers/{offer['id']}").json()
    assert (left["state"], left["vehicle"], left["on"]) == ("done", None, "2026-11-25")
    assert left["registration"] == car.registration and len(left["history_head"]) == 64


def test_before_it_is_taken_a_code_shows_mark_make_and_model_alone(
    secretary, stranger, car, history
):
    code = offered(secretary, car).json()["code"]
    shown = stranger.post("transfers/look", {"code": code}).json()
    assert shown.keys() == {"registration", "make", "model", "offered_at", "expires_at"}
    assert stranger.items("transfers") == stranger.items("vehicles") == []
    assert stranger.get(f"vehicles/{car.pk}").status_code == 404


def test_the_code_is_shown_once(secretary, car):
    made = offered(secretary, car)
    assert made.json()["code"].startswith("idlecar_")
    assert "code" not in secretary.get(made["Location"]).json()
    assert "no-store" in made["Cache-Control"]


def test_a_car_refused_by_its_code_stays(secretary, stranger, car):
    offer = offered(secretary, car).json()
    assert stranger.post("transfers/rejection", {"code": offer["code"]}).status_code == 201
    assert secretary.get(f"transfers/{offer['id']}").json()["state"] == "refused"
    assert pointers(taken(stranger, offer["code"])) == {"/code"}


def test_an_offer_withdrawn_can_not_be_taken(secretary, stranger, car):
    offer = offered(secretary, car).json()
    assert secretary.post(f"transfers/{offer['id']}/withdrawal", {}).status_code == 201
    assert pointers(taken(stranger, offer["code"])) == {"/code"}
    assert secretary.post(f"transfers/{offer['id']}/withdrawal", {}).status_code == 422


@pytest.mark.parametrize("role", ["keeper", "viewer"])
def test_only_officers_take_a_car_into_a_collection(secretary, stranger, car, role):
    there = member_of(stranger).collection
    caller = Caller(MemberFactory(collection=there, role=role).account)
    code = offered(secretary, car).json()["code"]
    assert taken(caller, code).status_code == 403
    assert taken(stranger, code).status_code == 201


def test_a_keeper_offers_their_own_car_to_another_and_an_officer_confirms(
    secretary, keeper, next_keeper, car
):
    made = offered(keeper, car, to_keeper=str(member_of(next_keeper).pk))
    assert (made.status_code, made.json()["code"]) == (201, None)
    path = f"transfers/{made.json()['id']}"
    assert next_keeper.get(path).json()["registration"] == car.registration
    assert next_keeper.get(f"vehicles/{car.pk}").status_code == 404
    assert next_keeper.post(f"{path}/confirmation", {}).json()["state"] == "offered"
    assert secretary.post(f"{path}/confirmation", {}).json()["state"] == "done"
    assert next_keeper.get(f"vehicles/{car.pk}").status_code == 200
    assert keeper.get(f"vehicles/{car.pk}").status_code == 404


def test_whom_a_car_is_offered_to_may_refuse_it(secretary, keeper, next_keeper, car):
    path = (
        f"transfers/{offered(keeper, car, to_keeper=str(member_of(next_keeper).pk)).json()['id']}"
    )
    assert keeper.post(f"{path}/refusal", {}).status_code == 403
    assert next_keeper.post(f"{path}/refusal", {}).json()["state"] == "refused"


def test_a_keeper_offers_nothing_elsewhere_and_no_car_of_others(
    secretary, next_keeper, keeper, car
):
    assert offered(keeper, car).status_code == 403
    assert pointers(offered(next_keeper, car)) == {"/vehicle"}


def test_a_viewer_sees_the_cars_and_offers_none(club, car, secretary):
    viewer = Caller(MemberFactory(collection=club, role="viewer").account)
    to = str(member_of(secretary).pk)
    assert offered(viewer, car, to_keeper=to).status_code == 403
    offered(secretary, car)
    assert viewer.items("transfers") == []


def test_another_club_sees_no_offer(secretary, stranger, car):
    path = f"transfers/{offered(secretary, car).json()['id']}"
    assert stranger.get(path).status_code == 404
    for verb in ("confirmation", "refusal", "withdrawal"):
        assert stranger.post(f"{path}/{verb}", {}).status_code == 404


def test_an_address_goes_with_an_offer_elsewhere_alone(secretary, next_keeper, car):
    to = str(member_of(next_keeper).pk)
    answer = offered(secretary, car, to_keeper=to, email="corve@mere.example")
    assert pointers(answer) == {"/email"}


def test_an_offer_sent_twice_under_one_key_is_one_offer(secretary, next_keeper, car):
    body = {"vehicle": str(car.pk), "to_keeper": str(member_of(next_keeper).pk)}
    first, second = (secretary.post("transfers", body, Idempotency_Key='"it"') for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json() == second.json()
