import datetime

import pytest

from maintenance.services.tokens import (
    is_whole,
    issue_token,
    revoke_token,
    token_account,
    usual_expiry,
)
from tests.factories import AccessTokenFactory, AccountFactory
from tests.services.asking import refused

pytestmark = pytest.mark.django_db

A_MONTH = datetime.timedelta(days=30)


@pytest.fixture
def issued(now):
    return issue_token(
        account=AccountFactory(), name="tablet", scope="record", expires_at=now + A_MONTH, at=now
    )


def test_a_token_is_recognised_by_its_text(issued, now):
    token, text = issued
    assert token_account(text=text, at=now).account == token.account


def test_the_text_of_a_token_is_kept_nowhere(issued):
    token, text = issued
    kept = [str(value) for value in vars(token).values()]
    assert text.startswith("idle_") and not any(text in value for value in kept)


def test_two_tokens_have_different_texts(issued, now):
    _, other = issue_token(
        account=AccountFactory(), name="phone", scope="read", expires_at=now + A_MONTH, at=now
    )
    assert other != issued[1]


def test_a_token_is_good_until_it_expires(issued, now):
    assert token_account(text=issued[1], at=now + A_MONTH) is None


def test_a_revoked_token_is_not_recognised(issued, now):
    revoke_token(token=issued[0], at=now)
    assert token_account(text=issued[1], at=now) is None


def test_the_token_of_a_closed_account_is_not_recognised(issued, now):
    issued[0].account.is_active = False
    issued[0].account.save()
    assert token_account(text=issued[1], at=now) is None


@pytest.mark.parametrize("text", ["", "idle_", "idle_ü\udc80", "other"])
def test_a_made_up_text_is_not_recognised(text, now):
    assert token_account(text=text, at=now) is None


def test_the_last_use_is_noted_once_a_minute(issued, now, django_assert_num_queries):
    token_account(text=issued[1], at=now)
    with django_assert_num_queries(1):
        token_account(text=issued[1], at=now + datetime.timedelta(seconds=59))
    token_account(text=issued[1], at=now + datetime.timedelta(seconds=60))
    issued[0].refresh_from_db()
    assert issued[0].last_used_at == now + datetime.timedelta(seconds=60)


def test_a_token_without_name_scope_and_future_is_refused(now):
    problems = refused(
        issue_token, account=AccountFactory(), name="", scope="all", expires_at=now, at=now
    )
    assert set(problems) == {"/name", "/scope", "/expires_at"}


def test_a_token_that_lasts_longer_than_the_operator_allows_is_refused(now, settings):
    settings.TOKEN_DAYS_LIMIT = 29
    problems = refused(
        issue_token,
        account=AccountFactory(),
        name="tablet",
        scope="read",
        expires_at=now + A_MONTH,
        at=now,
    )
    assert "at most 29 days" in problems["/expires_at"]


@pytest.mark.parametrize(
    ("scope", "lasts", "refused_at"),
    [("manage", A_MONTH / 2, "/scope"), ("read", A_MONTH * 2, "/expires_at")],
)
def test_a_token_issues_none_that_is_more_than_itself(now, scope, lasts, refused_at):
    asking = AccessTokenFactory(scope="record", expires_at=now + A_MONTH)
    problems = refused(
        issue_token,
        account=asking.account,
        name="phone",
        scope=scope,
        expires_at=now + lasts,
        at=now,
        asking=asking,
    )
    assert set(problems) == {refused_at}


def test_a_token_issued_by_another_ends_with_it_at_the_latest(now):
    asking = AccessTokenFactory(expires_at=now + datetime.timedelta(hours=1))
    assert usual_expiry(at=now, asking=asking) == asking.expires_at


def test_a_scanner_can_tell_a_token_by_its_checksum(issued):
    text = issued[1]
    assert is_whole(text)
    spoilt = text[:9] + ("a" if text[9] != "a" else "b") + text[10:]
    assert not is_whole(spoilt)


@pytest.mark.parametrize("text", ["", "idle_", "idle_" + "ü" * 49, "other"])
def test_a_made_up_text_is_no_token(text):
    assert not is_whole(text)


def test_the_checksum_is_the_one_that_the_pages_describe():
    """The CRC-32 of 43 times "a" is 4 082 372 434, in base 62 from a-z, A-Z, 0-9 "eCrnIQ"."""
    assert is_whole("idle_" + 43 * "a" + "eCrnIQ")
