"""Inviting and accepting over HTTP, and by the page to which the letter leads."""

import re

import pytest
from django.core import mail
from django.test import Client

from maintenance.models import Account, Member
from maintenance.reminders.deliver import deliver
from tests.api.callers import Caller, pointers
from tests.factories import NOW, AccountFactory, InvitationFactory, MemberFactory

pytestmark = pytest.mark.django_db

ADA = {"username": "ada", "password": "a heron by the mere"}


@pytest.fixture
def ask(secretary, club):
    def asked(email="ada@mere.example", **said):
        return secretary.post(
            "invitations", {"collection": str(club.pk), "email": email, "role": "keeper"} | said
        )

    return asked


@pytest.fixture
def secret(ask, settings):
    settings.EMAIL_URL = "smtp://127.0.0.1"
    ask()
    deliver(channel="email", clock=lambda: NOW)
    return re.search(r"/invitations/(\S+)", mail.outbox[0].body)[1]


def test_an_invitation_is_answered_without_its_secret(ask, secretary, car):
    answer = ask(vehicles=[str(car.pk)], days=3)
    assert answer.status_code == 201
    assert answer.json()["expires_at"] == "2026-11-28T09:30:00+00:00"
    assert answer.json()["vehicles"] == [str(car.pk)]
    assert "idleinv" not in answer.content.decode()
    assert secretary.items("invitations") == [secretary.get(answer["Location"]).json()]


def test_an_address_of_an_account_is_answered_like_any_other(ask):
    AccountFactory(email="known@mere.example")
    known, new = ask("known@mere.example").json(), ask("new@mere.example").json()
    differing = {name for name in known if known[name] != new[name]}
    assert differing == {"id", "email"}


@pytest.mark.parametrize("role", ["technical_officer", "keeper", "viewer"])
def test_only_secretaries_invite_and_see_who_is_invited(club, role):
    caller = Caller(MemberFactory(collection=club, role=role).account)
    body = {"collection": str(club.pk), "email": "ada@mere.example", "role": "keeper"}
    assert caller.post("invitations", body).status_code == 403
    assert caller.items("invitations") == []
    path = f"invitations/{InvitationFactory(collection=club).pk}"
    assert caller.get(path).status_code == 404


def test_a_stranger_neither_invites_into_a_club_nor_sees_its_invitations(stranger, club):
    body = {"collection": str(club.pk), "email": "ada@mere.example", "role": "secretary"}
    assert pointers(stranger.post("invitations", body)) == {"/collection"}
    path = f"invitations/{InvitationFactory(collection=club).pk}"
    assert stranger.get(path).status_code == 404
    assert stranger.post(f"{path}/withdrawal", {}).status_code == 404


def test_an_invitation_is_withdrawn_once(ask, secretary):
    path = f"invitations/{ask().json()['id']}/withdrawal"
    assert secretary.post(path, {}).json()["state"] == "withdrawn"
    assert secretary.post(path, {}).status_code == 422


def test_a_new_member_accepts_and_signs_in_by_the_account_just_made(secret, club):
    answer = Client().post(
        "/api/v1/invitations/acceptance",
        ADA | {"secret": secret, "name": "Ada"},
        content_type="application/json",
    )
    assert answer.status_code == 201
    assert (answer.json()["collection"], answer.json()["role"]) == (str(club.pk), "keeper")
    browser = Client()
    assert browser.post("/sign-in", ADA)["Location"] == "/"
    assert browser.get(answer["Location"]).json()["name"] == "Ada"


def test_who_has_an_account_accepts_with_their_token(secret):
    ada = Caller(AccountFactory())
    answer = ada.post("invitations/acceptance", {"secret": secret})
    assert answer.json()["account"] == str(ada.account.pk)
    again = ada.post("invitations/acceptance", {"secret": secret})
    unknown = ada.post("invitations/acceptance", {"secret": "idleinv_nothing"})
    assert again.status_code == 422
    assert again.content == unknown.content


def test_a_key_of_nobody_is_left_aside_where_the_secret_works_once_anyhow(secret):
    statuses = [
        Client()
        .post(
            "/api/v1/invitations/acceptance",
            ADA | {"secret": secret},
            content_type="application/json",
            headers={"Idempotency-Key": '"accept"'},
        )
        .status_code
        for _ in range(2)
    ]
    assert statuses == [201, 422]


def test_nobody_accepts_unnamed(secret):
    answer = Client().post(
        "/api/v1/invitations/acceptance", {"secret": secret}, content_type="application/json"
    )
    assert answer.status_code == 401
    assert "username and password" in answer.json()["detail"]


def test_the_page_of_the_letter_makes_an_account_and_a_member(secret, club):
    browser = Client(enforce_csrf_checks=True)
    page = browser.get(f"/invitations/{secret}")
    assert (club.name in page.content.decode(), page["Referrer-Policy"]) == (True, "same-origin")
    token = browser.cookies["csrftoken"].value
    sent = ADA | {"name": "Ada", "csrfmiddlewaretoken": token}
    assert browser.post(f"/invitations/{secret}", sent).status_code == 200
    assert Member.objects.get(collection=club, name="Ada").account.username == "ada"


def test_the_page_names_what_is_wrong_and_keeps_what_was_typed(secret):
    page = Client().post(f"/invitations/{secret}", {"username": "ada", "password": "ada"})
    assert page.status_code == 422
    assert "too short" in page.content.decode() and 'value="ada"' in page.content.decode()
    assert not Account.objects.filter(username="ada").exists()


def test_whoever_is_signed_in_accepts_on_the_page_as_that(secret):
    browser, account = Client(), AccountFactory()
    browser.force_login(account)
    assert (
        f"signed in as {account.username}" in browser.get(f"/invitations/{secret}").content.decode()
    )
    browser.post(f"/invitations/{secret}", {"name": ""})
    assert account.memberships.count() == 1


def test_a_page_of_no_invitation_says_so(db):
    assert Client().get("/invitations/idleinv_nothing").status_code == 404
