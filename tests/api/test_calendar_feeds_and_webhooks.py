"""Calendar feeds and webhooks over HTTP: each member's own, their secrets shown once."""

import json

import pytest
from django.test import Client

from maintenance.models import CalendarFeed, Webhook, WebhookDelivery
from tests.api.callers import Caller
from tests.api.test_openapi import broken
from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db

URL = "https://shelf.example/due"


@pytest.fixture
def member(club, secretary):
    return club.members.get(account=secretary.account)


def feed_by(caller, member, **given):
    body = {"member": str(member.pk), "name": "What falls due", "scope": "collection"}
    return caller.post("calendar-feeds", body | given)


def webhook_by(caller, member, **given):
    return caller.post("webhooks", {"member": str(member.pk), "name": "shelf", "url": URL} | given)


def changed(caller, address, body):
    tag = caller.get(address)["ETag"]
    return caller.patch(address, body, if_match=tag)


def test_a_new_calendar_feed_can_be_fetched_at_the_address_answered(secretary, member, fluid):
    answer = feed_by(secretary, member)

    calendar = Client().get(answer.json()["address"])
    assert answer.status_code == 201
    assert calendar["Content-Type"].startswith("text/calendar")


def test_an_answer_with_a_secret_is_kept_by_no_cache_and_has_no_tag(secretary, member):
    for answer in (feed_by(secretary, member), webhook_by(secretary, member)):
        assert answer["Cache-Control"] == "no-store"
        assert "ETag" not in answer


def test_no_later_answer_shows_a_secret_again(secretary, member):
    feed = feed_by(secretary, member).json()
    webhook = webhook_by(secretary, member).json()
    secrets = [feed["address"].rpartition("/")[2], webhook["secret"]]

    for address in ("calendar-feeds", f"calendar-feeds/{feed['id']}", "webhooks", "webhooks/"):
        said = secretary.get(address.rstrip("/")).content.decode()
        assert not [secret for secret in secrets if secret in said]


def test_a_feed_is_everything_that_was_asked_for(secretary, member, car):
    given = {
        "scope": "vehicle",
        "vehicle": str(car.pk),
        "criticalities": ["safety"],
        "form": "todos",
        "lead_times": [30, 7],
    }

    answer = feed_by(secretary, member, **given)

    assert {name: answer.json()[name] for name in given} == given


def test_a_feed_is_changed_by_who_names_its_version(secretary, member):
    address = f"calendar-feeds/{feed_by(secretary, member).json()['id']}"

    assert changed(secretary, address, {"lead_times": [14]}).json()["lead_times"] == [14]
    assert secretary.patch(address, {"lead_times": [1]}).status_code == 428
    assert secretary.patch(address, {"lead_times": [1]}, if_match='"old"').status_code == 412


def test_a_feed_that_is_removed_is_not_found_at_its_address(secretary, member):
    feed = feed_by(secretary, member).json()
    address = f"calendar-feeds/{feed['id']}"

    answer = secretary.delete(address, if_match=secretary.get(address)["ETag"])

    assert answer.status_code == 204
    assert Client().get(feed["address"]).status_code == 404


def test_a_new_address_ends_the_old_one(secretary, member):
    feed = feed_by(secretary, member).json()

    renewed = secretary.post(f"calendar-feeds/{feed['id']}/address", {})

    assert renewed.status_code == 201
    assert Client().get(feed["address"]).status_code == 404
    assert Client().get(renewed.json()["address"]).status_code == 200


def test_a_refusal_names_the_member_at_fault(secretary, member):
    answer = feed_by(secretary, member, scope="vehicle")

    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {
            "pointer": "/vehicle",
            "detail": "is missing; name the car of a feed of the scope 'vehicle'",
        }
    ]


def test_a_word_that_is_nearly_right_is_answered_with_the_right_one(secretary, member):
    answer = feed_by(secretary, member, criticalities=["safty"])

    assert answer.status_code == 422
    assert "safety" in answer.json()["detail"]


def test_nobody_has_a_feed_or_webhook_in_anothers_name(secretary, stranger, member):
    colleague = Caller(MemberFactory(collection=member.collection).account)

    for caller in (stranger, colleague):
        assert feed_by(caller, member).status_code == 422
        assert webhook_by(caller, member).status_code == 422
    assert not CalendarFeed.objects.exists() and not Webhook.objects.exists()


def test_what_is_a_members_own_is_hidden_from_officers_of_the_same_club(secretary, member):
    feed = feed_by(secretary, member).json()["id"]
    webhook = webhook_by(secretary, member).json()["id"]
    officer = Caller(MemberFactory(collection=member.collection, role="technical_officer").account)

    addresses = (f"calendar-feeds/{feed}", f"webhooks/{webhook}")
    assert [secretary.get(address).status_code for address in addresses] == [200, 200]
    assert [officer.get(address).status_code for address in addresses] == [404, 404]
    assert officer.post(f"webhooks/{webhook}/secrets", {}).status_code == 404
    for noun in ("calendar-feeds", "webhooks"):
        assert officer.get(noun).json()["items"] == []


def test_a_token_that_only_reads_issues_nothing(club, member, secretary):
    reader = Caller(secretary.account, scope="read")

    assert feed_by(reader, member).status_code == 403
    assert webhook_by(reader, member).status_code == 403


def test_an_address_inside_the_network_is_refused(secretary, member):
    answer = webhook_by(secretary, member, url="https://169.254.169.254/")

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/url"


def test_the_secret_of_a_webhook_is_exchanged_for_another(secretary, member):
    webhook = webhook_by(secretary, member).json()

    answer = secretary.post(f"webhooks/{webhook['id']}/secrets", {"overlap_hours": 0})

    assert answer.status_code == 201
    assert answer.json()["secret"] not in ("", webhook["secret"])


def test_an_overlap_of_years_is_refused(secretary, member):
    webhook = webhook_by(secretary, member).json()

    answer = secretary.post(f"webhooks/{webhook['id']}/secrets", {"overlap_hours": 9000})

    assert answer.status_code == 422


def test_a_test_message_stands_in_the_log(secretary, member):
    webhook = webhook_by(secretary, member).json()

    queued = secretary.post(f"webhooks/{webhook['id']}/test", {})

    (logged,) = secretary.get("webhook-deliveries", {"webhook": webhook["id"]}).json()["items"]
    assert queued.status_code == 201
    assert logged == queued.json()
    assert secretary.client.get(queued["Location"]).json() == logged
    assert (logged["event"], logged["state"], logged["attempts"]) == ("webhook.test", "waiting", [])


def test_a_message_that_was_given_up_is_sent_again(secretary, member):
    webhook = webhook_by(secretary, member).json()
    delivery = secretary.post(f"webhooks/{webhook['id']}/test", {}).json()
    WebhookDelivery.objects.filter(pk=delivery["id"]).update(state="given_up")

    answer = secretary.post(f"webhook-deliveries/{delivery['id']}/again", {})

    assert answer.json()["state"] == "waiting"
    assert answer.json()["message_id"] == delivery["message_id"]
    again = secretary.post(f"webhook-deliveries/{delivery['id']}/again", {})
    assert again.status_code == 422


def test_an_officer_sees_what_became_of_messages_to_a_keepers_webhook(secretary, club):
    keeper = MemberFactory(collection=club, role="keeper")
    webhook = webhook_by(Caller(keeper.account), keeper).json()
    Caller(keeper.account).post(f"webhooks/{webhook['id']}/test", {})

    (seen,) = secretary.items("webhook-deliveries", {"state": "waiting"})
    assert (seen["webhook"], seen["member"]) == (webhook["id"], str(keeper.pk))
    # The address itself may hold a secret of the member's.
    assert secretary.items("webhooks") == []


def test_a_keeper_sees_no_message_to_anothers_webhook(secretary, member, club):
    webhook = webhook_by(secretary, member).json()
    secretary.post(f"webhooks/{webhook['id']}/test", {})

    keeper = Caller(MemberFactory(collection=club, role="keeper").account)
    assert keeper.items("webhook-deliveries") == []


def test_a_disabled_webhook_is_found_and_enabled(secretary, member):
    webhook = webhook_by(secretary, member).json()
    Webhook.objects.filter(pk=webhook["id"]).update(
        disabled_at="2026-11-25T09:30:00Z", disabled_because="it is gone"
    )
    (found,) = secretary.get("webhooks", {"disabled": "true"}).json()["items"]

    answer = secretary.post(f"webhooks/{webhook['id']}/enable", {})

    assert found["disabled_because"] == "it is gone"
    assert answer.json()["disabled_at"] is None
    assert secretary.get("webhooks", {"disabled": "true"}).json()["items"] == []


def test_a_webhook_is_changed_and_removed(secretary, member):
    address = f"webhooks/{webhook_by(secretary, member).json()['id']}"

    assert changed(secretary, address, {"url": f"{URL}/2"}).json()["url"] == f"{URL}/2"
    tag = secretary.get(address)["ETag"]
    assert secretary.delete(address, if_match=tag).status_code == 204
    assert secretary.get(address).status_code == 404


def test_lists_take_as_many_queries_for_many_as_for_one(
    secretary, member, django_assert_max_num_queries
):
    webhook = webhook_by(secretary, member).json()["id"]
    for _ in range(20):
        secretary.post(f"webhooks/{webhook}/test", {})

    with django_assert_max_num_queries(5):
        assert len(secretary.get("webhook-deliveries").json()["items"]) == 20


def test_answers_are_what_the_document_says(secretary, member):
    document = json.loads(Client().get("/api/v1/openapi.json").content)
    feed_by(secretary, member)
    webhook = webhook_by(secretary, member).json()["id"]
    secretary.post(f"webhooks/{webhook}/test", {})

    for noun in ("calendar-feeds", "webhooks", "webhook-deliveries"):
        answered = document["paths"][f"/api/v1/{noun}"]["get"]["responses"]["200"]
        schema = answered["content"]["application/json"]["schema"]
        answer = secretary.get(noun).json()
        assert len(answer["items"]) == 1
        assert broken(document, schema, answer) == []
