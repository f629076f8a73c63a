import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.test import Client

from tests.factories import AccountFactory
from tests.pages.asking import sign_in, words
from tests.pages.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def test_who_signs_in_is_told_who_they_are_and_in_which_role(person):
    browser = Client()
    assert sign_in(browser=browser)["Location"] == "/"
    page = browser.get("/").text
    assert "Signed in as marit" in page
    assert "Harrowmere Motor Club" in page and "Keeper" in page


def test_passwords_are_kept_by_argon2(person):
    assert person.password.startswith("argon2$argon2id$")


def test_the_pages_ask_who_is_there_first(db):
    for address in ("/", "/tokens", "/password"):
        assert Client().get(address)["Location"] == f"/sign-in?next={address}"


def test_the_operators_pages_have_the_same_door(person):
    person.is_staff = True
    person.save()
    browser = Client()
    door = browser.get("/admin/", follow=True).request["PATH_INFO"]
    sign_in(browser=browser, next="/admin/")
    assert door == "/sign-in"
    assert browser.get("/admin/").status_code == 200


def test_an_account_that_may_not_see_the_operators_pages_is_told_so(browser):
    assert "who may not see that page" in browser.get("/admin/", follow=True).text


def test_a_wrong_password_is_answered_like_an_unknown_name(person):
    known, unknown = sign_in("marit", "wrong"), sign_in("nobody", "wrong")
    assert (known.status_code, words(known)) == (unknown.status_code, words(unknown))
    assert "do not go together" in words(known)


@pytest.mark.parametrize("name", ["marit", "nobody"])
def test_an_unknown_name_takes_as_long_as_a_known_one(person, name, monkeypatch):
    """Argon2 runs once either way; it takes a thousand times as long as all the rest."""
    ran = []
    for call in ("encode", "verify"):
        own = getattr(Argon2PasswordHasher, call)
        monkeypatch.setattr(
            Argon2PasswordHasher, call, lambda *a, _own=own, **k: ran.append(1) or _own(*a, **k)
        )
    sign_in(name, "wrong")
    assert len(ran) == 1


def test_a_closed_account_is_answered_like_an_unknown_name(person):
    person.is_active = False
    person.save()
    assert words(sign_in("marit", PASSWORD)) == words(sign_in("nobody", PASSWORD))


def test_a_name_longer_than_any_is_refused_by_the_form(db):
    answer = sign_in("m" * 5000)
    assert answer.status_code == 200
    assert "at most 150 characters" in answer.text


def test_nobody_is_sent_on_to_another_host(person):
    answer = sign_in(next="https://elsewhere.example/")
    assert answer["Location"] == "/"


def test_signing_in_gives_the_session_a_new_key(person):
    browser = Client()
    browser.session["seen"] = "yes"
    before = browser.session.session_key
    sign_in(browser=browser)
    assert browser.session.session_key != before


def test_the_session_is_out_of_reach_of_scripts_and_of_other_sites(person):
    cookie = sign_in().cookies["sessionid"]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert cookie["max-age"] == 14 * 24 * 3600


def test_signing_out_is_asked_for_by_a_button_and_not_by_a_link(browser):
    assert browser.get("/sign-out").status_code == 405
    assert browser.get("/").status_code == 200
    assert browser.post("/sign-out")["Location"] == "/sign-in"
    assert browser.get("/").status_code == 302


def test_a_form_from_elsewhere_is_answered_with_what_to_do(person):
    browser = Client(enforce_csrf_checks=True)
    answer = sign_in(browser=browser)
    assert answer.status_code == 403
    assert "send it once more" in answer.text


def test_a_page_that_is_not_there_says_so_in_our_own_words(db):
    answer = Client().get("/nothing")
    assert answer.status_code == 404
    assert "nothing at this address" in answer.text


def test_a_member_of_no_collection_is_told_whom_to_ask(db):
    browser = Client()
    browser.force_login(AccountFactory())
    assert "Ask the secretary" in browser.get("/").text


def test_the_start_page_takes_as_many_queries_for_one_collection_as_for_six(
    browser, django_assert_num_queries
):
    with django_assert_num_queries(4):  # session, account, what it sees, memberships
        browser.get("/")
