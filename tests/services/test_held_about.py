"""Somebody asks what is held about them, or the secretary asks for them."""

import json

import pytest
from django.apps import apps

from maintenance.models import Account, Member, Vehicle
from maintenance.models.base import Evidence
from maintenance.services import held_about as held
from maintenance.services.calendar_feeds import issue_feed
from maintenance.services.lay_ups import lay_up
from maintenance.services.tokens import issue_token
from maintenance.services.webhooks import add_webhook
from tests.factories import MemberFactory, VehicleFactory
from tests.services.asking import standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def member(now):
    member = MemberFactory(role="keeper", name="Ada Merrow")
    account = member.account
    issue_token(
        account=account, name="phone", scope="read", expires_at=now.replace(year=2027), at=now
    )
    return member


@pytest.fixture
def car(member, now, today):
    car = VehicleFactory(collection=member.collection, keeper=member)
    origin = {"by": member.account, "at": now, "today": today}
    lay_up(vehicle=car, draft=standing("2026-10-01", storage="damp"), **origin)
    return car


def told(member, within=None):
    document = held.held_about(account=member.account, within=within)
    return json.loads(held.as_bytes(document))


def test_a_member_is_told_of_account_tokens_and_membership(member):
    document = told(member)
    assert document["account"]["email"] == member.account.email
    assert document["access_tokens"][0]["name"] == "phone"
    assert document["memberships"][0]["name"] == "Ada Merrow"


def test_cars_kept_come_with_their_history_and_records_with_all_they_say(member, car):
    [membership] = told(member)["memberships"]
    assert membership["cars_kept"][0]["lay_ups"][0]["storage"] == "damp"
    [record] = membership["recorded"]
    assert (record["record"], record["recorded_by"]) == ("lay-up", str(member.account_id))


def test_no_secret_is_told(member, now, today):
    _, feed = issue_feed(member=member, given={"name": "mine"}, at=now, today=today)
    webhook, secret = add_webhook(member=member, name="shelf", url="https://a.example", at=now)
    text = held.as_bytes(held.held_about(account=member.account)).decode()
    token = member.account.tokens.get()
    for kept in (feed, secret, token.digest, member.account.password or "argon2", webhook.url):
        assert (kept in text) == (kept == webhook.url)


def test_a_secretary_is_told_what_the_collection_holds_and_no_more(member, car):
    elsewhere = MemberFactory(account=member.account)
    document = told(member, within=member.collection)
    assert document.keys() == {"memberships"}
    assert elsewhere.collection.name not in json.dumps(document)
    assert len(told(member)["memberships"]) == 2


def test_a_secretary_is_not_told_where_a_member_has_webhooks(member, now):
    add_webhook(member=member, name="shelf", url="https://a.example/key-of-ada", at=now)
    assert "key-of-ada" in json.dumps(told(member))
    assert "key-of-ada" not in json.dumps(told(member, within=member.collection))


def test_of_a_collection_left_behind_only_the_number_of_records_is_told(member, car):
    Vehicle.objects.update(keeper=None)
    member.delete()
    document = told(member)
    assert document["memberships"] == []
    assert document["records_elsewhere"] == 1
    assert car.registration not in json.dumps(document)


#: Columns that name a person and are told otherwise, or not at all, each with the reason.
TOLD_OTHERWISE = {
    ("Member", "account"): "the memberships themselves",
    ("Vehicle", "keeper"): "the cars kept",
    ("Invitation", "invited_by"): "invitations made",
    ("Transfer", "offered_by"): "cars offered",
    ("ExportJob", "about"): "a file of this very kind",
}


def test_it_is_decided_of_every_column_that_names_a_person_how_it_is_told():
    naming = {
        (model.__name__, field.name)
        for model in apps.get_models()
        for field in model._meta.concrete_fields
        if field.related_model in (Account, Member) and not issubclass(model, Evidence)
    }
    tables = [*held.OF_ACCOUNT.values(), *held.OF_MEMBER.values()]
    listed = {(table.__name__, column) for table, column, _ in tables if "__" not in column}
    assert naming == listed | TOLD_OTHERWISE.keys()
