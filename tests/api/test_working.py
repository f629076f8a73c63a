import pytest

from tests.api.test_service_events import renewal
from tests.factories import CollectionFactory, DueItemFactory, MemberFactory, VehicleFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(secretary, car, fluid):
    secretary.post("service-events", renewal(car, on="2026-06-01"))
    query = {"component_kind": "brake-fluid", "governed_by": "time"}
    return next(i for i in secretary.items("due-items", query) if i["task"] == "renew")


def test_the_working_comes_to_the_day_that_the_due_list_shows(secretary, item):
    working = secretary.get(f"due-items/{item['id']}/working").json()
    assert working["on"] == "2026-11-25"
    for shared in ("due_on", "status", "governed_by", "sentence", "caution"):
        assert working[shared] == item[shared]


def test_each_criterion_of_an_item_has_its_lines_in_the_working(secretary, item):
    working = secretary.get(f"due-items/{item['id']}/working").json()
    days = [(each["criterion"], each["due_on"]) for each in working["criteria"]]
    assert days == [(each["criterion"], each["due_on"]) for each in item["criteria"]]
    assert all(each["lines"] for each in working["criteria"])


def test_the_working_can_be_had_for_another_day(secretary, item):
    working = secretary.get(f"due-items/{item['id']}/working", {"on": "2030-01-01"}).json()
    assert (working["on"], working["status"]) == ("2030-01-01", "overdue")


def test_a_day_that_is_none_is_refused(secretary, item):
    answer = secretary.get(f"due-items/{item['id']}/working", {"on": "soon"})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["parameter"] == "on"


def test_the_working_of_another_clubs_item_is_not_found(stranger, item):
    assert stranger.get(f"due-items/{item['id']}/working").status_code == 404


def test_each_collection_is_shown_its_own_local_day(secretary, car):
    """At half past nine in the morning UTC it is still the day before in Pago Pago."""
    behind = CollectionFactory(time_zone="Pacific/Pago_Pago")
    MemberFactory(collection=behind, account=secretary.account)
    there = VehicleFactory(collection=behind)
    for each in (car, there):
        DueItemFactory(component__vehicle=each, overdue_from="2026-11-25")
    shown = {i["vehicle"]: i["status"] for i in secretary.items("due-items")}
    assert shown == {str(car.id): "overdue", str(there.id): "in_date"}
