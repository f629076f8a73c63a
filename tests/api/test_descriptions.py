import pytest

from maintenance.models import IntervalRule, Paper
from maintenance.services.recompute import recompute_vehicles
from tests.api.callers import Caller, pointers
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    IntervalRuleFactory,
    MemberFactory,
    PaperFactory,
)

pytestmark = pytest.mark.django_db

CAR = {"registration": "HM 900", "make": "Tarnbrook", "model": "Heron", "odometer_unit": "km"}


def test_a_car_is_added_and_answered_with_its_address(secretary, club):
    answer = secretary.post("vehicles", CAR | {"collection": str(club.id)})
    assert answer.status_code == 201
    assert secretary.get(answer["Location"]).json()["registration"] == "HM 900"


def test_a_second_car_of_the_same_registration_is_refused(secretary, club, car):
    body = CAR | {"collection": str(club.id), "registration": car.registration}
    answer = secretary.post("vehicles", body)
    assert pointers(answer) == {"/registration"}


def test_a_car_without_a_valid_check_digit_is_taken_with_a_warning(secretary, club):
    wrong = {"chassis_number": "1G4AH59H55G118341", "first_registered_on": "1990-01-01"}
    answer = secretary.post("vehicles", CAR | wrong | {"collection": str(club.id)})
    assert answer.status_code == 201
    assert "chassis number" in answer.json()["warnings"][0]


def test_a_car_stays_in_its_collection(secretary, stranger, car):
    other = stranger.account.memberships.get().collection
    answer = secretary.patch(f"vehicles/{car.id}", {"collection": str(other.id)}, If_Match="*")
    assert pointers(answer) == {"/collection"}


def test_a_car_can_be_given_to_a_keeper_who_then_sees_it(secretary, club, car):
    keeper = MemberFactory(collection=club, role="keeper")
    secretary.patch(f"vehicles/{car.id}", {"keeper": str(keeper.id)}, If_Match="*")
    assert Caller(keeper.account).get(f"vehicles/{car.id}").status_code == 200


def test_a_car_with_a_history_stays(secretary, car, fluid):
    EntryFactory(event__vehicle=car, component=fluid)
    answer = secretary.delete(f"components/{fluid.id}", If_Match="*")
    assert answer.status_code == 409
    assert answer.json()["type"] == "/api/v1/problems/still-in-use"


def test_a_component_added_by_mistake_can_be_removed_again(secretary, car):
    made = secretary.post("components", {"vehicle": str(car.id), "kind": "coolant"})
    assert secretary.items("due-items", {"component_kind": "coolant"})
    removed = secretary.delete(f"components/{made.json()['id']}", If_Match=made["ETag"])
    assert removed.status_code == 204
    assert not secretary.items("due-items", {"component_kind": "coolant"})


def test_an_unknown_kind_is_refused_with_the_nearest_one(secretary, car):
    answer = secretary.post("components", {"vehicle": str(car.id), "kind": "brake-fliud"})
    assert pointers(answer) == {"/kind"}
    assert "brake-fluid" in answer.json()["errors"][0]["detail"]


def test_a_component_changes_its_position_but_never_its_kind(secretary, car):
    hose = ComponentFactory(vehicle=car, kind="brake-hose", position="front left")
    moved = secretary.patch(f"components/{hose.id}", {"position": "rear"}, If_Match="*")
    assert moved.json()["position"] == "rear"
    answer = secretary.patch(f"components/{hose.id}", {"kind": "tyre"}, If_Match="*")
    assert pointers(answer) == {"/kind"}


def test_a_paper_falls_due_on_its_last_day(secretary, car):
    body = {"vehicle": str(car.id), "kind": "insurance", "until": "2026-12-31"}
    assert secretary.post("papers", body | {"from": "2026-01-01"}).status_code == 201
    items = secretary.items("due-items", {"governed_by": "expiry"})
    assert [item["due_on"] for item in items] == ["2026-12-31"]


def test_a_paper_that_is_no_longer_needed_goes_with_its_due_item(secretary, car, today):
    paper = PaperFactory(vehicle=car)
    recompute_vehicles(vehicles=[car], on=today)
    assert secretary.delete(f"papers/{paper.id}", If_Match="*").status_code == 204
    assert not Paper.objects.exists()
    assert not secretary.items("due-items", {"governed_by": "expiry"})


def test_a_keeper_keeps_the_specification_sheet_of_their_car(club, car):
    keeper = MemberFactory(collection=club, role="keeper")
    type(car).objects.filter(pk=car.pk).update(keeper=keeper)
    body = {"vehicle": str(car.id), "item": "contact-breaker gap", "value": "0.40", "unit": "mm"}
    made = Caller(keeper.account).post("specification-lines", body)
    assert made.status_code == 201
    changed = Caller(keeper.account).patch(
        made["Location"].removeprefix("http://testserver"), {"value": "0.38"}, If_Match="*"
    )
    assert (changed.json()["value"], changed.json()["version"]) == ("0.38", 2)


RULE = {
    "name": "brake fluid every year",
    "kind": "brake-fluid",
    "task": "renew",
    "months": 12,
    "criticality": "safety",
    "source": "club rule book",
    "lay_up": {"factors": {"heated": 1, "dry": 1, "damp": 1.25, "outdoors": 1.5}},
}


def test_a_collections_own_rule_brings_the_due_day_forward(secretary, club, car, fluid):
    event = {"vehicle": str(car.id), "on": "2026-06-01"}
    entry = {"kind": "brake-fluid", "action": "renew"}
    secretary.post("service-events", event | {"entries": [entry]})
    made = secretary.post("interval-rules", RULE | {"collection": str(club.id)})
    assert made.json()["lay_up"]["factors"]["damp"] == 1.25
    items = secretary.items("due-items", {"component_kind": "brake-fluid"})
    assert ("brake fluid every year", "2027-06-01") in {(i["rule"], i["due_on"]) for i in items}


def test_a_rule_under_which_storage_would_lengthen_a_limit_is_refused(secretary, club):
    slower = {"factors": {"heated": 0.5, "dry": 1, "damp": 1, "outdoors": 1}}
    answer = secretary.post("interval-rules", RULE | {"collection": str(club.id), "lay_up": slower})
    assert pointers(answer) == {"/lay_up/factors/heated"}
    assert not IntervalRule.objects.exists()


def test_a_rule_keeps_the_terms_that_a_change_leaves_out(secretary, club):
    rule = IntervalRuleFactory(collection=club, warn_days=14)
    changed = secretary.patch(f"interval-rules/{rule.id}", {"months": 18}, If_Match="*").json()
    assert (changed["months"], changed["warn_days"], changed["wear"]) == (18, 14, None)


def test_a_rule_taken_back_leaves_the_one_of_the_catalogue(secretary, club, car, fluid):
    made = secretary.post("interval-rules", RULE | {"collection": str(club.id)})
    secretary.delete(f"interval-rules/{made.json()['id']}", If_Match=made["ETag"])
    rules = {item["rule"] for item in secretary.items("due-items")}
    assert "brake fluid every year" not in rules


def test_a_collection_is_renamed_by_its_secretary(secretary, club):
    answer = secretary.patch(f"collections/{club.id}", {"name": "Mere Club"}, If_Match="*")
    assert (answer.json()["name"], answer.json()["version"]) == ("Mere Club", 2)


def test_a_time_zone_that_does_not_exist_is_refused(secretary, club):
    answer = secretary.patch(f"collections/{club.id}", {"time_zone": "Mere"}, If_Match="*")
    assert pointers(answer) == {"/time_zone"}
