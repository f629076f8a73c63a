import pytest

from tests.api.callers import pointers
from tests.factories import LayUpFactory

pytestmark = pytest.mark.django_db


def test_a_car_is_laid_up_with_what_was_done_before(secretary, car):
    body = {"vehicle": str(car.id), "from": "2026-10-20", "storage": "damp"}
    answer = secretary.post("lay-ups", body | {"preparations": ["drained-tank"]})
    assert answer.status_code == 201
    lay_up = answer.json()
    assert (lay_up["from"], lay_up["to"], lay_up["expected_to"]) == ("2026-10-20", None, None)
    assert lay_up["preparations"] == ["drained-tank"]


def test_two_lay_ups_of_a_car_do_not_share_a_day(secretary, car):
    LayUpFactory(vehicle=car, from_on="2025-10-01", to_on="2026-04-01")
    body = {"vehicle": str(car.id), "from": "2026-03-31", "to": "2026-05-01", "storage": "dry"}
    assert secretary.post("lay-ups", body).status_code == 422


def test_an_unknown_storage_grade_is_refused_with_the_nearest(secretary, car):
    body = {"vehicle": str(car.id), "from": "2026-10-20", "storage": "dampish"}
    answer = secretary.post("lay-ups", body)
    assert pointers(answer) == {"/storage"}
    assert "damp" in answer.json()["errors"][0]["detail"]


def test_a_lay_up_ends_on_the_first_day_back_in_use(secretary, car):
    lasting = LayUpFactory(vehicle=car, from_on="2026-10-01", to_on=None)
    answer = secretary.post(f"lay-ups/{lasting.id}/end", {"on": "2026-11-20"})
    assert answer.status_code == 201
    ended = answer.json()
    assert (ended["to"], ended["supersedes"]) == ("2026-11-20", str(lasting.id))


def test_a_lay_up_that_has_ended_is_not_ended_again(secretary, car):
    over = LayUpFactory(vehicle=car)
    answer = secretary.post(f"lay-ups/{over.id}/end", {"on": "2026-11-20"})
    assert answer.status_code == 422


@pytest.mark.parametrize("on", ["2026-12-24", "2026-10-01", "2026-09-01"])
def test_an_end_that_can_not_be_is_refused_where_it_was_given(secretary, car, on):
    lasting = LayUpFactory(vehicle=car, from_on="2026-10-01", to_on=None)
    answer = secretary.post(f"lay-ups/{lasting.id}/end", {"on": on})
    assert (answer.status_code, pointers(answer)) == (422, {"/on"})


def test_a_return_to_come_is_said_by_a_correction(secretary, car):
    lasting = LayUpFactory(vehicle=car, from_on="2026-10-01", to_on=None, storage="dry")
    body = {
        "from": "2026-10-01",
        "storage": "dry",
        "expected_to": "2026-12-24",
        "reason": "Booked.",
    }
    answer = secretary.post(f"lay-ups/{lasting.id}/corrections", body)
    assert (answer.status_code, answer.json()["expected_to"]) == (201, "2026-12-24")


def test_a_lay_up_is_corrected_in_the_words_it_was_recorded_in(secretary, car):
    wrong = LayUpFactory(vehicle=car)
    body = {"from": "2025-10-05", "to": "2026-04-02", "storage": "heated", "reason": "Diary."}
    right = secretary.post(f"lay-ups/{wrong.id}/corrections", body).json()
    assert (right["from"], right["storage"]) == ("2025-10-05", "heated")
    assert [each["id"] for each in secretary.items("lay-ups")] == [right["id"]]


def test_a_withdrawn_lay_up_makes_room_for_another(secretary, car):
    wrong = LayUpFactory(vehicle=car)
    secretary.post(f"lay-ups/{wrong.id}/withdrawal", {"reason": "Never stood."})
    body = {"vehicle": str(car.id), "from": "2026-01-01", "to": "2026-02-01", "storage": "dry"}
    assert secretary.post("lay-ups", body).status_code == 201
