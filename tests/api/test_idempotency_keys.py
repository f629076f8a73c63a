"""A call sent twice under one key is done once."""

import datetime

import pytest
from django.core.management import call_command

from maintenance.models import Attachment, ImportJob, KeptAnswer, ServiceEvent, Webhook
from maintenance.services import service_events
from maintenance.services.kept_answers import forget_answers
from maintenance.services.refusals import Problem, Refused
from tests.api.callers import Caller
from tests.api.test_imports_and_exports import send
from tests.factories import NOW, ServiceEventFactory
from tests.services.spreadsheet.sheets import ROW, as_csv

pytestmark = pytest.mark.django_db

KEY = '"lift-2-ticket-118"'


@pytest.fixture
def event(car, fluid):
    entry = {"kind": "brake-fluid", "action": "renew"}
    return {"vehicle": str(car.id), "on": "2026-06-01", "entries": [entry]}


def post(caller, path, body, key=KEY):
    return caller.post(path, body, Idempotency_Key=key)


def problem(answer):
    return answer.status_code, answer.json()["type"].rpartition("/")[2]


def test_an_event_sent_twice_is_recorded_once_and_answered_alike(secretary, event):
    first = post(secretary, "service-events", event)
    again = post(secretary, "service-events", event)
    assert ServiceEvent.objects.count() == 1
    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    for header in ("Location", "ETag", "Content-Type", "Cache-Control"):
        assert first[header] == again[header]
    assert "Idempotency-Replayed" not in first and again["Idempotency-Replayed"] == "true"


def test_without_a_key_an_event_sent_twice_is_recorded_twice(secretary, event):
    for _ in range(2):
        assert secretary.post("service-events", event).status_code == 201
    assert ServiceEvent.objects.count() == 2


def test_a_key_is_good_for_one_body(secretary, event):
    post(secretary, "service-events", event)
    answer = post(secretary, "service-events", event | {"note": "and the pads"})
    assert problem(answer) == (422, "key-used-before")
    assert ServiceEvent.objects.count() == 1


def test_a_key_is_good_for_one_address_and_query(secretary, car, event):
    body = {"vehicle": str(car.id), "from": "2026-11-01", "storage": "dry"}
    post(secretary, "lay-ups", body)
    assert problem(post(secretary, "departures", body)) == (422, "key-used-before")
    file = as_csv(ROW | {"registration": car.registration})
    secretary.client.defaults["HTTP_IDEMPOTENCY_KEY"] = '"a sheet"'
    send(secretary, file, car.collection)
    assert problem(send(secretary, file, car.collection, dry_run="true"))[0] == 422


def test_the_same_key_of_another_account_is_another_key(secretary, club, stranger, event):
    post(secretary, "service-events", event)
    assert post(stranger, "service-events", event).status_code == 422
    assert KeptAnswer.objects.count() == 2


def test_two_tokens_of_one_account_share_its_keys(secretary, event):
    post(secretary, "service-events", event)
    again = post(Caller(secretary.account), "service-events", event)
    assert again["Idempotency-Replayed"] == "true"


def test_a_key_in_quotation_marks_is_the_key_without_them(secretary, event):
    post(secretary, "service-events", event, key='"ticket-1"')
    assert "Idempotency-Replayed" in post(secretary, "service-events", event, key="ticket-1")


@pytest.mark.parametrize("key", ["", '""', '"half', "two words", '"é"', '"' + 256 * "k" + '"'])
def test_a_key_that_cannot_be_read_is_refused_before_anything_is_done(secretary, event, key):
    answer = post(secretary, "service-events", event, key=key.encode().decode("latin-1"))
    assert problem(answer) == (400, "malformed-idempotency-key")
    assert not ServiceEvent.objects.exists()


def test_a_refusal_is_answered_again_though_the_reason_is_gone(secretary, car, event):
    body = event | {"entries": [{"kind": "coolant", "action": "renew"}]}
    first = post(secretary, "service-events", body)
    secretary.post("components", {"vehicle": str(car.id), "kind": "coolant"})
    again = post(secretary, "service-events", body)
    assert first.status_code == again.status_code == 422
    assert first.content == again.content
    assert again["Content-Type"] == "application/problem+json"


def test_what_was_written_before_a_refusal_is_taken_back(secretary, event, monkeypatch):
    def refuse(**_):
        raise Refused([Problem("/on", "was another day")])

    monkeypatch.setattr(service_events, "recompute_vehicles", refuse)
    assert post(secretary, "service-events", event).status_code == 422
    assert not ServiceEvent.objects.exists()
    assert KeptAnswer.objects.get().status == 422


def test_after_a_failure_of_the_server_the_call_may_be_sent_again(secretary, event, monkeypatch):
    secretary.client.raise_request_exception = False
    with monkeypatch.context() as broken:
        broken.setattr(service_events, "recompute_vehicles", lambda **_: 1 / 0)
        assert post(secretary, "service-events", event).status_code == 500
    assert not ServiceEvent.objects.exists() and not KeptAnswer.objects.exists()
    assert post(secretary, "service-events", event).status_code == 201


def test_a_call_that_nobody_may_make_is_not_kept(club, event, secretary):
    reader = Caller(secretary.account, scope="read")
    assert post(reader, "service-events", event).status_code == 403
    assert post(secretary, "service-events", event).status_code == 201


def test_after_a_day_a_key_may_be_used_for_something_else(secretary, event):
    post(secretary, "service-events", event)
    KeptAnswer.objects.update(kept_at=NOW - datetime.timedelta(hours=24))
    assert post(secretary, "service-events", event | {"note": "a year on"}).status_code == 201
    assert KeptAnswer.objects.count() == 1


def test_answers_past_their_time_are_removed_by_the_ordinary_round(secretary, event):
    post(secretary, "service-events", event)
    assert forget_answers(at=NOW + datetime.timedelta(hours=23)) == 0
    KeptAnswer.objects.update(kept_at=NOW - datetime.timedelta(hours=25))
    call_command("tick")
    assert not KeptAnswer.objects.exists()


def test_a_secret_is_not_shown_again_and_the_client_learns_what_was_made(secretary, club):
    member = club.members.get(account=secretary.account)
    body = {"member": str(member.pk), "name": "shelf", "url": "https://shelf.example/due"}
    first = post(secretary, "webhooks", body)
    again = post(secretary, "webhooks", body)
    assert problem(again) == (409, "secret-shown-once")
    assert again["Location"] == first["Location"]
    assert first.json()["secret"] not in again.content.decode()
    assert first.json()["secret"].encode() not in bytes(KeptAnswer.objects.get().body)
    assert Webhook.objects.count() == 1


def remade(secretary, noun, body):
    """Make something twice under one key; return the second answer's advice and its address."""
    post(secretary, noun, body, key=f'"{noun}"')
    again = post(secretary, noun, body, key=f'"{noun}"')
    assert problem(again) == (409, "secret-shown-once")
    return again.json()["detail"], again["Location"]


def test_who_lost_a_secret_is_told_a_way_to_another_that_can_be_gone(secretary, club, car):
    member = str(club.members.get(account=secretary.account).pk)
    for noun, body, word, below in (
        ("webhooks", {"name": "shelf", "url": "https://shelf.example/due"}, "secrets", {}),
        ("calendar-feeds", {"name": "mine", "scope": "member"}, "address", {}),
        ("transfers", {"vehicle": str(car.pk)}, "withdrawal", {}),
    ):
        said = body if noun == "transfers" else body | {"member": member}
        told, address = remade(secretary, noun, said)
        assert f"`{word}`" in told
        assert secretary.post(f"{address}/{word}", below).status_code == 201


def test_who_lost_a_token_is_told_to_revoke_it_and_to_issue_another(secretary):
    told, address = remade(secretary, "access-tokens", {"name": "tablet", "scope": "read"})
    assert "revoke the token there (DELETE) and issue another" in told
    assert secretary.delete(address, If_Match="*").status_code == 204


def test_an_import_under_a_key_begins_when_its_key_is_kept(
    secretary, car, fluid, django_capture_on_commit_callbacks
):
    secretary.client.defaults["HTTP_IDEMPOTENCY_KEY"] = KEY
    file = as_csv(ROW | {"registration": car.registration})
    with django_capture_on_commit_callbacks(execute=True):
        told = send(secretary, file, car.collection).json()
    again = send(secretary, file, car.collection)
    assert told["state"] == "waiting" and again.json() == told
    assert ImportJob.objects.get().state == "done"


def test_an_attachment_longer_than_a_json_body_may_be_is_attached_once(
    secretary, car, settings, tmp_path
):
    settings.MEDIA_ROOT, settings.DATA_UPLOAD_MAX_MEMORY_SIZE = str(tmp_path), 100
    address = f"/api/v1/attachments?service_event={ServiceEventFactory(vehicle=car).pk}&name=a.pdf"
    secretary.client.defaults["HTTP_IDEMPOTENCY_KEY"] = KEY
    for _ in range(2):
        pdf = b"%PDF-1.4\n" + b"%" * 200 + b"\n%%EOF\n"
        sent = secretary.client.post(address, pdf, content_type="application/pdf")
        assert sent.status_code == 201, sent.content
    assert Attachment.objects.count() == 1


def test_a_body_longer_than_is_taken_is_refused_with_a_key_too(secretary, event, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 10
    assert post(secretary, "service-events", event).status_code == 413


def test_a_question_asked_again_under_its_key_has_the_same_answer(secretary, car, monkeypatch):
    body = {"from": "2026-12-01", "to": "2026-12-05", "distance": 300}
    first = post(secretary, f"vehicles/{car.id}/trip-check", body)
    monkeypatch.setattr("api.resources.what_if.trip_check", lambda **_: 1 / 0)
    again = post(secretary, f"vehicles/{car.id}/trip-check", body)
    assert first.status_code == 200 and again.content == first.content


def test_every_call_by_post_takes_a_key(document):
    said = {
        path: {each["name"] for each in item["post"]["parameters"]}
        for path, item in document["paths"].items()
        if "post" in item
    }
    assert len(said) > 30
    assert [path for path, names in said.items() if "Idempotency-Key" not in names] == []
