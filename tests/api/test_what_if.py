import pytest

from tests.api.callers import Caller, pointers
from tests.factories import EntryFactory, MemberFactory, ServiceEventFactory

pytestmark = pytest.mark.django_db

TRIP = {"from": "2027-06-05", "to": "2027-06-14", "distance": 900}


@pytest.fixture
def renewed(car, fluid):
    """The car's brake fluid was renewed half a year ago."""
    EntryFactory(event=ServiceEventFactory(vehicle=car), component=fluid)


def days(answer, task="renew"):
    items = answer.json()["items"]
    item = next(i for i in items if (i["component"], i["task"]) == ("brake-fluid", task))
    return [one["due_on"] for one in item["projected"]]


def test_a_damp_winter_to_come_moves_the_brake_fluid(secretary, car, renewed):
    stay = {"from": "2027-01-01", "to": "2027-05-01", "storage": "damp"}
    answer = secretary.post(f"vehicles/{car.pk}/projection", {"lay_ups": [stay]})
    assert (answer.status_code, days(answer)) == (200, ["2028-03-02"])


def test_work_to_come_starts_the_interval_anew(secretary, car, renewed):
    done = [{"kind": "brake-fluid", "task": "renew", "on": "2027-04-10"}]
    answer = secretary.post(f"vehicles/{car.pk}/projection", {"done": done})
    assert days(answer) == ["2028-05-01", "2029-04-10"]


def test_a_trip_names_what_stands_in_its_way(secretary, car, fluid):
    answer = secretary.post(f"vehicles/{car.pk}/trip-check", TRIP)
    reasons = {item["component"]: item["reason"] for item in answer.json()["before_departure"]}
    assert (answer.status_code, reasons["brake-fluid"]) == (200, "no_record")


def test_a_token_that_only_reads_may_ask(car, club):
    reader = Caller(MemberFactory(collection=club, role="viewer").account, scope="read")
    assert reader.post(f"vehicles/{car.pk}/trip-check", TRIP).status_code == 200
    assert reader.post(f"vehicles/{car.pk}/projection", {}).status_code == 200


@pytest.mark.parametrize(("question", "body"), [("projection", {}), ("trip-check", TRIP)])
def test_another_club_is_told_of_no_such_car(stranger, car, question, body):
    assert stranger.post(f"vehicles/{car.pk}/{question}", body).status_code == 404


def test_a_plans_errors_are_told_all_at_once(secretary, car):
    stay = {"from": "2027-01-01", "to": "2027-05-01", "storage": "dampp"}
    work = {"kind": "brake-fluidd", "task": "renew", "on": "2027-04-10"}
    plan = {"lay_ups": [stay], "distance": {"amount": -1}, "done": [work], "months": 121}
    answer = secretary.post(f"vehicles/{car.pk}/projection", plan)
    assert set(pointers(answer)) == {
        "/lay_ups/0/storage", "/distance", "/done/0/kind", "/months",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("question", "body", "pointer"),
    [
        ("trip-check", TRIP | {"from": "2026-11-24"}, "/from"),
        ("trip-check", TRIP | {"distance": -1}, "/distance"),
        ("trip-check", TRIP | {"colour": "red"}, "/colour"),
        ("projection", {"distance": {"amount": 1, "by": "2026-11-25"}}, "/distance/by"),
        (
            "projection",
            {"lay_ups": [{"from": "2027-01-01", "to": "2027-05-01", "storage": "cellar"}]},
            "/lay_ups/0/storage",
        ),
        (
            "projection",
            {"done": [{"kind": "battery", "task": "inspect", "on": "2027-01-01"}]},
            "/done/0/kind",
        ),
    ],
)
def test_a_question_that_makes_no_sense_is_refused_by_its_place(
    secretary, car, fluid, question, body, pointer
):
    answer = secretary.post(f"vehicles/{car.pk}/{question}", body)
    assert (answer.status_code, pointers(answer)) == (422, {pointer})
