import pytest

from tests.api.callers import pointers

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "wrong",
    [
        {"model": 1200},
        {"odometer_digits": "5"},
        {"odometer_digits": 5.5},
        {"odometer_digits": True},
        {"substantially_changed": "no"},
        {"nominal_voltage": "12"},
        {"built_on": 19680304},
        {"built_on": "04/03/1968"},
        {"keeper": 7},
        {"keeper": ""},
        {"make": {"name": "Tarnbrook"}},
    ],
    ids=str,
)
def test_a_value_of_another_type_is_refused_by_name(secretary, car, wrong):
    answer = secretary.patch(f"vehicles/{car.id}", wrong, If_Match="*")
    assert answer.status_code == 422
    assert pointers(answer) == {f"/{name}" for name in wrong}


@pytest.mark.parametrize("value", ["48000", True, [], 1e300, -1, 48000.123])
def test_a_reading_is_a_plain_number(secretary, car, value):
    body = {"vehicle": str(car.id), "on": "2026-11-01", "value": value}
    answer = secretary.post("odometer-readings", body)
    assert answer.status_code == 422
    assert pointers(answer) == {"/value"}


def test_a_change_of_nothing_is_refused(secretary, car):
    tag = secretary.get(f"vehicles/{car.id}")["ETag"]
    answer = secretary.patch(f"vehicles/{car.id}", {}, If_Match=tag)
    assert answer.status_code == 422
    assert secretary.get(f"vehicles/{car.id}")["ETag"] == tag


def test_a_text_that_no_database_keeps_is_refused(secretary, car):
    for text in ("a\x00b", "a\ud800b"):
        answer = secretary.patch(f"vehicles/{car.id}", {"model": text}, If_Match="*")
        assert pointers(answer) == {"/model"}
