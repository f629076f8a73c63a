import pytest

from tests.api.callers import pointers
from tests.factories import ComponentFactory, OdometerReadingFactory

pytestmark = pytest.mark.django_db


def test_a_reading_is_answered_in_the_unit_of_the_car(secretary, car):
    body = {"vehicle": str(car.id), "on": "2026-11-01", "value": 48123.4}
    reading = secretary.post("odometer-readings", body).json()
    assert (reading["value"], reading["odometer_unit"]) == (48123.4, "km")


def test_a_reading_below_the_one_before_is_refused(secretary, car):
    OdometerReadingFactory(vehicle=car, on="2026-05-01", value=48000)
    body = {"vehicle": str(car.id), "on": "2026-06-01", "value": 47000}
    answer = secretary.post("odometer-readings", body)
    assert answer.status_code == 422
    assert "48000" in answer.json()["detail"]


def test_a_corrected_reading_stands_in_place_of_the_wrong_one(secretary, car):
    wrong = OdometerReadingFactory(vehicle=car, on="2026-05-01", value=84000)
    body = {"on": "2026-05-01", "value": 48000, "reason": "Figures swapped."}
    right = secretary.post(f"odometer-readings/{wrong.id}/corrections", body).json()
    assert [each["id"] for each in secretary.items("odometer-readings")] == [right["id"]]


def test_an_exchanged_odometer_lets_the_next_reading_begin_low(secretary, car):
    OdometerReadingFactory(vehicle=car, on="2026-05-01", value=48000)
    change = {"on": "2026-06-01", "old_value": 48100, "new_value": 3}
    secretary.post("odometer-changes", {"vehicle": str(car.id)} | change)
    body = {"vehicle": str(car.id), "on": "2026-07-01", "value": 250}
    assert secretary.post("odometer-readings", body).status_code == 201


@pytest.fixture
def failed(car):
    ComponentFactory(vehicle=car, kind="brake-hose", position="front left")
    finding = {"kind": "brake-hose", "position": "front left", "category": "major"}
    return {
        "vehicle": str(car.id),
        "on": "2026-11-10",
        "result": "fail",
        "findings": [finding | {"note": "bulging"}],
    }


def test_a_failed_inspection_makes_its_major_finding_due_at_once(secretary, failed):
    made = secretary.post("inspections", failed).json()
    assert made["findings"][0]["note"] == "bulging"
    items = secretary.items("due-items", {"governed_by": "finding"})
    assert [item["finding"] for item in items] == [made["findings"][0]["id"]]


def test_a_finding_is_read_with_its_car_and_day(secretary, car, failed):
    secretary.post("inspections", failed)
    [finding] = secretary.items("findings", {"vehicle": car.id, "category": "major"})
    assert (finding["on"], finding["kind"]) == ("2026-11-10", "brake-hose")


def test_a_finding_can_not_be_written_by_itself(secretary):
    assert secretary.post("findings", {}).status_code == 405


def test_findings_of_a_withdrawn_inspection_are_gone(secretary, failed):
    made = secretary.post("inspections", failed).json()
    secretary.post(f"inspections/{made['id']}/withdrawal", {"reason": "Another car."})
    assert secretary.items("findings") == []
    assert secretary.items("due-items", {"governed_by": "finding"}) == []


def test_a_finding_of_an_unknown_category_is_refused(secretary, failed):
    failed["findings"][0]["category"] = "dangerus"
    answer = secretary.post("inspections", failed)
    assert pointers(answer) == {"/findings/0/category"}
    assert "dangerous" in answer.json()["errors"][0]["detail"]


def test_a_dangerous_finding_is_no_finding_of_a_pass(secretary, failed):
    failed["result"] = "pass"
    failed["findings"][0]["category"] = "dangerous"
    answer = secretary.post("inspections", failed)
    assert (answer.status_code, pointers(answer)) == (422, {"/findings/0/category"})


def test_a_certificates_own_expiry_is_kept(secretary, car):
    body = {"vehicle": str(car.id), "on": "2026-04-14", "result": "pass"}
    made = secretary.post("inspections", body | {"expires_on": "2027-04-13"}).json()
    assert made["expires_on"] == "2027-04-13"
    items = secretary.items("due-items", {"governed_by": "inspection"})
    assert [item["due_on"] for item in items] == ["2027-04-13"]


def test_recorded_kilometres_are_not_turned_into_miles(secretary, car):
    OdometerReadingFactory(vehicle=car)
    answer = secretary.patch(f"vehicles/{car.id}", {"odometer_unit": "mi"}, If_Match="*")
    assert (answer.status_code, pointers(answer)) == (422, {"/odometer_unit"})
