import json

import pytest
from django.test import Client

from tests.api.callers import Caller, pointers
from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db


def assert_problem(answer, status, slug):
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"
    body = json.loads(answer.content)
    assert (body["type"], body["status"]) == (f"/api/v1/problems/{slug}", status)
    assert body["title"] and body["detail"]
    return body


def test_without_a_token_nothing_is_told():
    answer = Client().get("/api/v1/vehicles")
    assert_problem(answer, 401, "not-authenticated")
    assert answer["WWW-Authenticate"].startswith("Bearer")


def test_an_unknown_token_is_refused():
    answer = Client(headers={"Authorization": "Bearer idle_guess"}).get("/api/v1/vehicles")
    assert_problem(answer, 401, "not-authenticated")


def test_an_address_that_leads_nowhere_is_a_problem_like_any_other(secretary):
    assert_problem(secretary.get("carriages"), 404, "not-found")


def test_a_slash_too_many_is_answered_with_the_address_meant(secretary):
    body = assert_problem(secretary.get("vehicles/"), 404, "not-found")
    assert "/api/v1/vehicles" in body["detail"]


def test_a_car_that_does_not_exist_is_not_found(secretary):
    answer = secretary.get("vehicles/01931b5e-7b00-7b22-8a3b-1c2d3e4f5061")
    assert_problem(answer, 404, "not-found")


def test_an_identifier_that_is_none_is_not_found(secretary):
    assert_problem(secretary.get("vehicles/HM-1"), 404, "not-found")


def test_a_body_that_is_not_json_is_refused_with_the_place(secretary):
    answer = secretary.post("vehicles", '{"make": ')
    body = assert_problem(answer, 400, "malformed-request")
    assert "line 1 column 10" in body["detail"]


def test_a_key_that_comes_twice_is_refused_by_name(secretary):
    answer = secretary.post("vehicles", '{"make": "Tarnbrook", "make": "Heron"}')
    body = assert_problem(answer, 400, "malformed-request")
    assert "'make'" in body["detail"]


def test_a_value_that_is_no_number_is_refused(secretary):
    answer = secretary.post("odometer-readings", '{"value": NaN}')
    assert_problem(answer, 400, "malformed-request")


def test_a_body_that_is_not_utf_8_is_refused_with_the_place(secretary):
    answer = secretary.post("vehicles", b'{"make": "\xff"}')
    body = assert_problem(answer, 400, "malformed-request")
    assert "byte 10" in body["detail"]


def test_a_body_nested_without_end_is_refused(secretary):
    answer = secretary.post("vehicles", "[" * 100_000)
    assert_problem(answer, 400, "malformed-request")


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("9" * 5000, f"The number {'9' * 40}… has more digits than any figure taken here."),
        ("-" + "9" * 5000, f"The number -{'9' * 39}… has more digits"),
        ("1e99999999999999999999", "The number 1e99999999999999999999 is out of all proportion."),
    ],
)
def test_a_number_out_of_all_proportion_is_refused_in_words_about_it(secretary, number, words):
    answer = secretary.post("vehicles", f'{{"expected_annual_distance": {number}}}')
    assert_problem(answer, 400, "malformed-request")
    assert answer.json()["detail"].startswith(words)


def test_a_body_that_is_a_list_is_refused(secretary):
    assert_problem(secretary.post("vehicles", "[]"), 422, "refused")


def test_a_form_is_refused_as_a_media_type(secretary):
    answer = secretary.client.post("/api/v1/vehicles", {"make": "Tarnbrook"})
    assert_problem(answer, 415, "unsupported-media-type")
    told = "This address takes application/json, and not multipart/form-data; boundary="
    assert answer.json()["detail"].startswith(told)


def test_an_answer_in_another_form_is_not_to_be_had(secretary):
    assert_problem(secretary.get("vehicles", Accept="text/html"), 406, "not-acceptable")


def test_a_method_that_an_address_does_not_take_is_refused_with_those_it_takes(secretary, car):
    answer = secretary.client.put(f"/api/v1/vehicles/{car.id}")
    assert_problem(answer, 405, "method-not-allowed")
    assert {"GET", "PATCH", "DELETE"} <= set(answer["Allow"].split(", "))


def test_a_body_larger_than_the_server_takes_is_refused(secretary, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 100
    answer = secretary.post("vehicles", {"make": "T" * 200})
    assert_problem(answer, 413, "too-large")


def test_a_token_that_only_reads_may_not_record(club, car):
    reader = Caller(MemberFactory(collection=club).account, scope="read")
    answer = reader.post("odometer-readings", {})
    body = assert_problem(answer, 403, "not-permitted")
    assert "'read'" in body["detail"] and "'record'" in body["detail"]


def test_everything_wrong_with_a_request_is_said_at_once(secretary, club):
    answer = secretary.post("vehicles", {"collection": str(club.id), "odometer_unit": "miles"})
    assert_problem(answer, 422, "refused")
    assert pointers(answer) == {"/registration", "/make", "/model", "/odometer_unit"}


def test_a_failure_of_the_server_is_a_problem_too(secretary, monkeypatch):
    def fail(self, request):
        raise RuntimeError("the disc is full")

    monkeypatch.setattr("api.resources.vehicles.Vehicles.list", fail, raising=False)
    secretary.client.raise_request_exception = False
    body = assert_problem(secretary.get("vehicles"), 500, "internal-error")
    assert "disc" not in json.dumps(body)


def test_the_address_of_each_kind_of_problem_explains_it():
    kinds = Client().get("/api/v1/problems").json()["items"]
    pages = [Client().get(kind["type"]).json() for kind in kinds]
    assert pages == kinds
    assert all(page["title"] and page["remedy"] for page in pages)


def test_an_unknown_kind_of_problem_is_not_found():
    assert_problem(Client().get("/api/v1/problems/flat-tyre"), 404, "not-found")
