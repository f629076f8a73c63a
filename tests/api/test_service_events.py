import pytest

from maintenance.models import ServiceEvent
from maintenance.services.recompute import recompute_vehicles
from tests.api.callers import Caller, pointers
from tests.factories import ComponentFactory, MemberFactory, ServiceEventFactory

pytestmark = pytest.mark.django_db


def renewal(car, on="2026-11-01", **entry):
    entry = {"kind": "brake-fluid", "action": "renew"} | entry
    return {"vehicle": str(car.id), "on": on, "entries": [entry]}


def test_a_renewal_moves_the_day_on_which_the_brake_fluid_falls_due(secretary, car, fluid, today):
    recompute_vehicles(vehicles=[car], on=today)
    query = {"vehicle": car.id, "component_kind": "brake-fluid", "governed_by": "no_record"}
    assert secretary.items("due-items", query)
    secretary.post("service-events", renewal(car, on="2026-11-01"))
    items = secretary.items("due-items", query | {"governed_by": "time"})
    assert "2028-11-01" in {item["due_on"] for item in items}


def test_an_event_is_answered_with_its_entries_measurement_and_address(secretary, car, fluid):
    reading = {"quantity": "water_content", "value": 1.8, "unit": "%"}
    body = renewal(car, action="measure", measurement=reading)
    answer = secretary.post("service-events", body | {"odometer": 48000.5})
    event = answer.json()
    assert answer.status_code == 201
    assert (event["odometer"], event["odometer_unit"]) == (48000.5, "km")
    assert event["entries"][0]["measurement"] == reading
    assert secretary.get(answer["Location"]).json() == event


def test_a_year_alone_is_kept_as_stated_with_its_earliest_and_latest_day(secretary, car, fluid):
    event = secretary.post("service-events", renewal(car, on="2019")).json()
    assert event["on"] == "2019"
    assert (event["earliest_on"], event["latest_on"]) == ("2019-01-01", "2019-12-31")


def test_parts_carried_over_stand_with_the_renewal_of_their_assembly(secretary, car):
    shaft = ComponentFactory(vehicle=car, kind="half-shaft", position="left")
    ComponentFactory(vehicle=car, kind="half-shaft-boot", position="left", assembly=shaft)
    boot = {"kind": "half-shaft-boot", "position": "left"}
    body = renewal(car, kind="half-shaft", position="left", carried_over=[boot])
    answer = secretary.post("service-events", body)
    assert answer.json()["entries"][0]["carried_over"] == [boot]


def test_an_entry_for_a_part_the_car_does_not_have_is_refused_by_place(secretary, car, fluid):
    answer = secretary.post("service-events", renewal(car, kind="brake-fluids"))
    assert answer.status_code == 422
    assert pointers(answer) == {"/entries/0/kind"}
    assert not ServiceEvent.objects.exists()


def test_a_misspelt_key_is_refused_with_the_nearest_one(secretary, car, fluid):
    answer = secretary.post("service-events", renewal(car) | {"odometre": 48000})
    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {"pointer": "/odometre", "detail": "is no key of this object; did you mean 'odometer'?"}
    ]


def test_a_misspelt_action_is_refused_with_the_nearest_one(secretary, car, fluid):
    answer = secretary.post("service-events", renewal(car, action="renewe"))
    assert pointers(answer) == {"/entries/0/action"}
    assert "renew" in answer.json()["errors"][0]["detail"]


def test_what_the_server_sets_is_refused_in_a_request(secretary, car, fluid):
    answer = secretary.post("service-events", renewal(car) | {"current": True})
    assert pointers(answer) == {"/current"}


def test_a_day_after_today_is_refused(secretary, car, fluid):
    answer = secretary.post("service-events", renewal(car, on="2026-11-26"))
    assert pointers(answer) == {"/on"}


def test_a_correction_supersedes_the_event_and_moves_the_due_day_back(secretary, car, fluid):
    wrong = secretary.post("service-events", renewal(car, on="2026-11-01")).json()
    body = {"on": "2025-11-01", "reason": "Wrong year.", "entries": renewal(car)["entries"]}
    right = secretary.post(f"service-events/{wrong['id']}/corrections", body).json()
    assert (right["supersedes"], right["reason"]) == (wrong["id"], "Wrong year.")
    query = {"component_kind": "brake-fluid", "governed_by": "time"}
    assert "2027-11-01" in {item["due_on"] for item in secretary.items("due-items", query)}


def test_a_correction_without_a_reason_is_refused(secretary, car, fluid):
    event = secretary.post("service-events", renewal(car)).json()
    answer = secretary.post(f"service-events/{event['id']}/corrections", {"on": "2026-10-01"})
    assert pointers(answer) == {"/reason"}


def test_a_corrected_event_can_still_be_read_and_is_listed_when_asked_for(secretary, car, fluid):
    wrong = secretary.post("service-events", renewal(car)).json()["id"]
    body = {"on": "2026-10-01", "reason": "Wrong month.", "entries": []}
    right = secretary.post(f"service-events/{wrong}/corrections", body).json()["id"]
    assert secretary.get(f"service-events/{wrong}").json()["current"] is False
    assert [each["id"] for each in secretary.items("service-events")] == [right]
    everything = secretary.items("service-events", {"superseded": "true"})
    assert {each["id"] for each in everything} == {wrong, right}


def test_a_withdrawn_event_leaves_the_car_as_if_it_had_not_been(secretary, car, fluid):
    event = secretary.post("service-events", renewal(car)).json()
    answer = secretary.post(f"service-events/{event['id']}/withdrawal", {"reason": "Other car."})
    assert answer.json()["withdrawn"] is True
    assert secretary.items("service-events") == []
    query = {"component_kind": "brake-fluid"}
    assert {item["status"] for item in secretary.items("due-items", query)} == {"no_record"}


def test_an_event_is_corrected_only_once(secretary, car, fluid):
    event = secretary.post("service-events", renewal(car)).json()["id"]
    secretary.post(f"service-events/{event}/withdrawal", {"reason": "Other car."})
    again = secretary.post(f"service-events/{event}/withdrawal", {"reason": "Other car."})
    assert again.status_code == 422
    assert ServiceEvent.objects.filter(supersedes=event).count() == 1


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_an_event_is_never_changed_in_place(secretary, car, method):
    event = ServiceEventFactory(vehicle=car)
    answer = getattr(secretary.client, method)(f"/api/v1/service-events/{event.id}")
    assert answer.status_code == 405
    assert answer["Content-Type"] == "application/problem+json"


def test_events_are_narrowed_to_those_about_a_kind_and_a_span_of_days(secretary, car, fluid):
    ComponentFactory(vehicle=car, kind="coolant")
    secretary.post("service-events", renewal(car, on="2026-03-01"))
    secretary.post("service-events", renewal(car, on="2026-04-01", kind="coolant"))
    secretary.post("service-events", renewal(car, on="2026-05-01"))
    query = {"component_kind": "brake-fluid", "on_or_after": "2026-04-01"}
    assert [each["on"] for each in secretary.items("service-events", query)] == ["2026-05-01"]


def test_a_keeper_records_on_their_own_car(club, car, fluid):
    keeper = MemberFactory(collection=club, role="keeper")
    car.keeper = keeper
    car.save()
    answer = Caller(keeper.account, scope="record").post("service-events", renewal(car))
    assert answer.status_code == 201
    assert answer.json()["recorded_by"] == str(keeper.account.id)


def test_a_viewer_sees_the_car_and_may_not_record_on_it(club, car, fluid):
    viewer = Caller(MemberFactory(collection=club, role="viewer").account)
    assert viewer.get(f"vehicles/{car.id}").status_code == 200
    assert viewer.post("service-events", renewal(car)).status_code == 403
    assert not ServiceEvent.objects.exists()
