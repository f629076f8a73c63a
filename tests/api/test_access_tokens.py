"""Tokens over HTTP: made, looked over and revoked by the account they act for."""

import datetime

import pytest
from django.test import Client

from maintenance.models import AccessToken
from maintenance.queries.today import this_instant
from tests.api.callers import Caller, pointers
from tests.factories import AccessTokenFactory

pytestmark = pytest.mark.django_db

TABLET = {"name": "tablet in the workshop", "scope": "record"}


def bearing(text):
    return Client(headers={"Authorization": f"Bearer {text}"})


def test_a_program_gets_in_with_a_token_just_issued(secretary):
    made = secretary.post("access-tokens", TABLET)
    assert made.status_code == 201
    assert bearing(made.json()["token"]).get("/api/v1/vehicles").status_code == 200


def test_the_text_of_a_token_is_shown_once(secretary):
    made = secretary.post("access-tokens", TABLET)
    assert (made["Cache-Control"], "ETag" in made) == ("no-store", False)
    text = made.json()["token"]
    later = secretary.get("access-tokens").content + secretary.get(made["Location"]).content
    assert text.encode() not in later
    assert text[:9] == secretary.get(made["Location"]).json()["hint"]


def test_a_token_is_told_apart_by_name_scope_and_last_use(secretary):
    made = secretary.post("access-tokens", TABLET).json()
    bearing(made["token"]).get("/api/v1/vehicles")
    [row] = [each for each in secretary.items("access-tokens") if each["id"] == made["id"]]
    assert (row["name"], row["scope"]) == ("tablet in the workshop", "record")
    assert row["last_used_at"] is not None


def test_a_token_lasts_as_long_as_the_operator_says_unless_something_is_said(secretary, settings):
    settings.TOKEN_DAYS = 7
    made = secretary.post("access-tokens", TABLET).json()
    token = AccessToken.objects.get(pk=made["id"])
    assert token.expires_at - token.issued_at == datetime.timedelta(days=7)


def test_a_token_that_is_to_last_longer_than_the_operator_allows_is_refused(secretary):
    answer = secretary.post("access-tokens", TABLET | {"expires_at": "2036-01-01T00:00:00Z"})
    assert pointers(answer) == {"/expires_at"}


def test_a_token_issues_none_that_outlives_it(secretary):
    own = this_instant() + datetime.timedelta(hours=1)
    AccessToken.objects.update(expires_at=own)
    made = secretary.post("access-tokens", TABLET).json()
    assert datetime.datetime.fromisoformat(made["expires_at"]) == own
    later = {"expires_at": (own + datetime.timedelta(seconds=1)).isoformat()}
    assert pointers(secretary.post("access-tokens", TABLET | later)) == {"/expires_at"}


@pytest.mark.parametrize("scope", ["read", "record"])
def test_only_a_token_that_manages_sees_or_makes_tokens(secretary, scope):
    caller = Caller(secretary.account, scope=scope)
    assert caller.get("access-tokens").status_code == 403
    assert caller.post("access-tokens", TABLET).status_code == 403


def test_a_revoked_token_opens_nothing_and_is_listed_no_more(secretary):
    made = secretary.post("access-tokens", TABLET)
    where = made["Location"]
    assert secretary.delete(where, If_Match=secretary.get(where)["ETag"]).status_code == 204
    assert bearing(made.json()["token"]).get("/api/v1/vehicles").status_code == 401
    assert secretary.get(where).status_code == 404


def test_a_revocation_names_the_version_it_revokes(secretary):
    where = secretary.post("access-tokens", TABLET)["Location"]
    assert secretary.delete(where).status_code == 428
    assert secretary.delete(where, If_Match='"another"').status_code == 412


def test_the_tokens_of_others_are_as_if_they_were_not_there(secretary, stranger):
    theirs = AccessToken.objects.get(account=stranger.account)
    assert secretary.get(f"access-tokens/{theirs.pk}").status_code == 404
    assert secretary.delete(f"access-tokens/{theirs.pk}", If_Match="*").status_code == 404
    assert str(theirs.pk) not in {each["id"] for each in secretary.items("access-tokens")}


def test_a_text_that_was_not_copied_whole_is_answered_with_what_to_do(secretary):
    text = secretary.post("access-tokens", TABLET).json()["token"]
    said = bearing(text[:-1]).get("/api/v1/vehicles")
    assert said.status_code == 401
    assert "copy all of it" in said.json()["detail"]


def test_a_list_takes_as_many_queries_for_six_tokens_as_for_one(
    secretary, django_assert_num_queries
):
    AccessTokenFactory.create_batch(5, account=secretary.account)
    secretary.get("access-tokens")  # the first use of a token is noted
    with django_assert_num_queries(2):
        assert len(secretary.items("access-tokens")) == 6
