import pytest

from tests.api.test_service_events import renewal
from tests.factories import LayUpFactory, SpecificationLineFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(secretary, car, fluid):
    SpecificationLineFactory(vehicle=car, item="brake fluid grade", value="DOT 4")
    secretary.post("service-events", renewal(car, on="2026-06-01"))
    query = {"component_kind": "brake-fluid", "governed_by": "time"}
    return next(i for i in secretary.items("due-items", query) if i["task"] == "renew")


def test_the_working_names_the_address_of_its_picture(secretary, item):
    (address,) = secretary.get(f"due-items/{item['id']}/working").json()["plots"]
    picture = secretary.get(address)
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml; charset=utf-8")
    assert b"wet minimum" in picture.content


def test_a_picture_that_there_is_not_is_refused_as_a_problem(secretary, item):
    answer = secretary.get(f"due-items/{item['id']}/plot.svg", {"of": "wear"})
    assert (answer.status_code, answer["Content-Type"]) == (422, "application/problem+json")


def test_a_picture_of_an_unknown_kind_is_refused_by_name(secretary, item):
    answer = secretary.get(f"due-items/{item['id']}/plot.svg?of=wea")
    assert answer.status_code == 400
    assert "wear" in answer.json()["detail"]


def test_a_cars_years_are_drawn(secretary, car):
    LayUpFactory(vehicle=car)
    answer = secretary.get(f"vehicles/{car.pk}/years.svg")
    assert (answer.status_code, b"laid up, dry" in answer.content) == (200, True)


def test_another_club_sees_no_picture(stranger, car, item):
    assert stranger.get(f"vehicles/{car.pk}/years.svg").status_code == 404
    assert stranger.get(f"due-items/{item['id']}/plot.svg").status_code == 404
