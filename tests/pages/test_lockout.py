"""Who guesses passwords is stopped; who is guessed at is not."""

import datetime
import io

import pytest
from axes.models import AccessAttempt
from django.core.management import CommandError, call_command
from django.db.models import F
from django.test import Client
from django.urls import reverse

from maintenance.models import Account
from maintenance.queries.today import this_instant
from maintenance.services.sign_in import forget_the_expired, unlock
from tests.factories import AccountFactory
from tests.pages.asking import fail, sign_in, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("quick_hashes", "person")]

SIGNED_IN, LOCKED = 302, 429


@pytest.fixture(autouse=True)
def limits(settings):
    settings.AXES_FAILURE_LIMIT, settings.SIGN_IN_FAILURES_OF_ADDRESS = 3, 8
    settings.AXES_COOLOFF_TIME = datetime.timedelta(minutes=15)


def pass_minutes(minutes):
    AccessAttempt.objects.update(
        attempt_time=F("attempt_time") - datetime.timedelta(0, minutes * 60)
    )


def test_after_three_failures_the_right_password_is_refused_too():
    assert fail(2).status_code == 200
    assert fail(1).status_code == LOCKED
    assert sign_in().status_code == LOCKED


def test_who_is_locked_out_is_told_for_how_long():
    answer = fail(3)
    assert "for another 15 minutes" in answer.text
    assert 14 * 60 < int(answer["Retry-After"]) <= 15 * 60
    pass_minutes(9)
    assert "for another 6 minutes" in sign_in().text


def test_a_name_that_nobody_has_is_locked_in_the_same_words():
    assert words(fail(3, "nobody")) == words(fail(3, "marit"))


def test_the_lock_ends_by_itself():
    fail(3)
    pass_minutes(16)
    assert sign_in().status_code == SIGNED_IN


def test_trying_on_does_not_make_the_lock_longer():
    fail(3)
    pass_minutes(14)
    assert fail(2).status_code == LOCKED
    pass_minutes(2)
    assert sign_in().status_code == SIGNED_IN


def test_guessing_from_afar_locks_nobody_out_at_home():
    fail(5, address="198.51.100.9")
    assert sign_in().status_code == SIGNED_IN


def test_another_browser_at_the_same_address_gets_no_new_guesses():
    fail(2)
    other = Client(headers={"User-Agent": "another"})
    assert fail(1, browser=other).status_code == LOCKED


def test_one_password_is_not_tried_on_everybody():
    for number in range(8):
        fail(1, f"member{number}")
    assert sign_in().status_code == LOCKED
    assert sign_in(address="198.51.100.9").status_code == SIGNED_IN


def test_all_addresses_of_one_ipv6_network_count_as_one():
    for number in range(3):
        fail(1, address=f"2001:db8:0:7::{number:x}")
    assert sign_in(address="2001:db8:0:7::ffff").status_code == LOCKED


def test_the_right_password_forgets_the_failures_before_it():
    fail(2)
    sign_in()
    assert fail(2).status_code == 200


def test_the_operators_door_is_under_the_same_lock():
    Account.objects.update(is_staff=True)
    fail(3)
    browser = Client()
    answer = browser.post(
        browser.get("/admin/", follow=True).request["PATH_INFO"],
        {"username": "marit", "password": "seven old brake hoses", "next": "/admin/"},
        REMOTE_ADDR="192.0.2.7",
    )
    assert answer.status_code == LOCKED


def test_what_was_typed_as_a_password_is_kept_nowhere():
    sign_in("marit", "almost the right one")
    kept = AccessAttempt.objects.values().get()
    assert "almost the right one" not in str(kept)


def unlocked(*arguments):
    out = io.StringIO()
    call_command("unlock_sign_in", *arguments, stdout=out)
    return out.getvalue().strip()


def test_an_operator_unlocks_a_name_on_the_command_line():
    fail(3)
    assert unlocked("--account", "marit") == "unlocked"
    assert sign_in().status_code == SIGNED_IN


def test_an_operator_unlocks_an_address_of_a_network():
    fail(3, address="2001:db8:0:7::1")
    assert unlocked("--address", "2001:db8:0:7::2") == "unlocked"
    assert sign_in(address="2001:db8:0:7::3").status_code == SIGNED_IN


def test_unlocking_one_leaves_the_others_locked():
    fail(3, "nobody")
    fail(3)
    assert unlocked("--account", "marit", "--address", "198.51.100.9").startswith("nothing")
    unlocked("--account", "nobody")
    assert sign_in().status_code == LOCKED


@pytest.mark.parametrize("arguments", [(), ("--address", "garage")])
def test_an_unlocking_of_nobody_is_refused_with_status_2(arguments):
    with pytest.raises(CommandError) as refusal:
        unlocked(*arguments)
    assert refusal.value.returncode == 2


def test_an_unlocking_of_everybody_by_mistake_is_no_unlocking():
    fail(3)
    with pytest.raises(ValueError):
        unlock()
    assert not unlock(username="")


def test_an_operator_unlocks_accounts_in_the_admin():
    fail(3)
    operator = Client()
    operator.force_login(AccountFactory(is_staff=True, is_superuser=True))
    chosen = {"action": "unlock", "_selected_action": [Account.objects.get(username="marit").pk]}
    operator.post(reverse("admin:maintenance_account_changelist"), chosen)
    assert sign_in().status_code == SIGNED_IN


def test_sessions_and_failures_that_are_over_are_deleted():
    sign_in()
    fail(1)
    assert forget_the_expired(at=this_instant()) == 0
    assert forget_the_expired(at=this_instant() + datetime.timedelta(days=15)) == 2
