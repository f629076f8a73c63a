"""One's own tokens, in a browser."""

import re

import pytest
from django.test import Client

from maintenance.models import AccessToken
from tests.factories import AccessTokenFactory

pytestmark = pytest.mark.django_db

WANTED = {"name": "calendar on the wall", "scope": "read", "days": "30"}


def make(browser, **said):
    return browser.post("/tokens", WANTED | said)


def text_in(page):
    found = re.search(r"idle_\w{49}", page.text)
    return found and found[0]


def test_a_program_gets_in_with_a_token_made_in_a_browser(browser):
    text = text_in(make(browser))
    program = Client(headers={"Authorization": f"Bearer {text}"})
    assert program.get("/api/v1/vehicles").status_code == 200
    assert program.post("/api/v1/lay-ups", {}, "application/json").status_code == 403


def test_a_token_is_shown_once_and_kept_by_no_cache(browser):
    made = make(browser)
    assert "no-store" in made["Cache-Control"]
    later = browser.get("/tokens")
    assert text_in(made) and not text_in(later)
    assert text_in(made)[:9] in later.text


def test_a_revoked_token_is_gone_from_the_page(browser, person):
    token = AccessTokenFactory(account=person, name="lost tablet")
    assert "lost tablet" in browser.get("/tokens").text
    answer = browser.post(f"/tokens/{token.pk}/revocation", follow=True)
    assert "“lost tablet” is revoked" in answer.text
    token.refresh_from_db()
    assert token.revoked_at is not None


def test_nobody_sees_or_revokes_the_tokens_of_others(browser):
    theirs = AccessTokenFactory(name="theirs")
    assert "theirs" not in browser.get("/tokens").text
    assert browser.post(f"/tokens/{theirs.pk}/revocation").status_code == 404
    assert AccessToken.objects.filter(revoked_at=None).count() == 1


@pytest.mark.parametrize(
    "said", [{"name": " "}, {"scope": "all"}, {"days": "0"}, {"days": "367"}, {"days": "9" * 30}]
)
def test_what_can_not_be_is_refused_beside_its_field(browser, said):
    assert 'class="errorlist"' in make(browser, **said).text
    assert not AccessToken.objects.exists()


def test_a_refusal_of_the_service_is_shown_beside_its_field(browser):
    page = make(browser, name="in two\nlines")
    assert 'class="errorlist"' in page.text
    assert not AccessToken.objects.exists()


def test_the_page_takes_as_many_queries_for_one_token_as_for_six(
    browser, person, django_assert_num_queries
):
    AccessTokenFactory.create_batch(6, account=person)
    with django_assert_num_queries(4):  # session, account, what it sees, tokens
        browser.get("/tokens")
