import pytest

from tests.factories import DueItemFactory, VehicleFactory

pytestmark = pytest.mark.django_db

LIST = ["due-items", "vehicles", "component-kinds"]


def test_a_car_that_did_not_change_is_not_sent_again(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    answer = secretary.get(f"vehicles/{car.id}", If_None_Match=tag)
    assert answer.status_code == 304
    assert (answer.content, answer["ETag"]) == (b"", tag)


@pytest.mark.parametrize("address", LIST)
def test_a_list_that_did_not_change_is_not_sent_again(secretary, car, address):
    tag = secretary.get(address)["ETag"]
    assert secretary.get(address, If_None_Match=f'"other", W/{tag}').status_code == 304


def test_a_due_list_that_changed_is_sent(secretary, car):
    tag = secretary.get("due-items")["ETag"]
    DueItemFactory(component__vehicle=car)
    answer = secretary.get("due-items", If_None_Match=tag)
    assert answer.status_code == 200
    assert answer["ETag"] != tag


def test_a_tag_is_strong_and_comes_with_head_as_well(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    head = secretary.client.head(f"/api/v1/vehicles/{car.id}")
    assert tag.startswith('"')
    assert head["ETag"] == tag


def test_a_change_without_a_version_is_refused(secretary, car):
    answer = secretary.patch(f"vehicles/{car.id}", {"model": "Egret"})
    assert answer.status_code == 428
    assert answer.json()["type"] == "/api/v1/problems/precondition-required"


def test_a_change_of_a_version_that_is_gone_is_refused(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    secretary.patch(f"vehicles/{car.id}", {"model": "Egret"}, If_Match=tag)
    answer = secretary.patch(f"vehicles/{car.id}", {"model": "Bittern"}, If_Match=tag)
    assert answer.status_code == 412
    assert secretary.get(f"vehicles/{car.id}").json()["model"] == "Egret"


def test_a_weak_tag_never_permits_a_change(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    answer = secretary.patch(f"vehicles/{car.id}", {"model": "Egret"}, If_Match=f"W/{tag}")
    assert answer.status_code == 412


def test_the_answer_to_a_change_carries_the_tag_for_the_next_one(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    answer = secretary.patch(f"vehicles/{car.id}", {"model": "Egret"}, If_Match=tag)
    again = secretary.patch(f"vehicles/{car.id}", {"model": "Teal"}, If_Match=answer["ETag"])
    assert again.json()["model"] == "Teal"


def test_a_writer_in_between_is_noticed_by_the_service(secretary, car, monkeypatch):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]

    def overtaken(request, content):
        type(car).objects.filter(pk=car.pk).update(version=7)

    monkeypatch.setattr("api.resources.described.require_match", overtaken)
    answer = secretary.patch(f"vehicles/{car.id}", {"model": "Egret"}, If_Match=tag)
    assert answer.status_code == 412


def test_a_removal_needs_the_version_too(secretary, club):
    car = VehicleFactory(collection=club)
    assert secretary.delete(f"vehicles/{car.id}").status_code == 428
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    assert secretary.delete(f"vehicles/{car.id}", If_Match=tag).status_code == 204
    assert secretary.get(f"vehicles/{car.id}").status_code == 404


def test_no_cache_between_may_keep_an_answer_for_others(secretary, car):
    answer = secretary.get(f"vehicles/{car.id}")
    assert answer["Cache-Control"] == "private, no-cache"
    assert {"Authorization", "Cookie"} <= set(answer["Vary"].split(", "))
