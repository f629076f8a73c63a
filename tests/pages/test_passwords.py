import datetime
import re

import pytest
from django.test import Client, RequestFactory

from maintenance.models import Account
from maintenance.pages.passwords import ForgottenPassword
from maintenance.queries.today import this_instant
from maintenance.services.passwords import LINK_EVERY, send_password_links
from tests.factories import AccountFactory
from tests.pages.asking import fail, sign_in, words
from tests.pages.conftest import PASSWORD

pytestmark = pytest.mark.django_db

NEW = "eight new brake hoses"
ADDRESS = "marit@harrowmere.example"


@pytest.fixture(autouse=True)
def mail_goes_out(settings, person):
    settings.EMAIL_URL = "smtp://localhost"
    settings.PUBLIC_URL = "https://cars.example"


def ask(address=ADDRESS, browser=None):
    return (browser or Client()).post("/forgotten-password", {"email": address}, follow=True)


def link_in(mail):
    return re.search(r"https://cars\.example(/new-password/\S+)", mail.body)[1]


def choose(link, password=NEW):
    browser = Client()
    form = browser.get(link, follow=True)
    sent = {"new_password1": password, "new_password2": password}
    return browser.post(form.request["PATH_INFO"], sent, follow=True)


def test_a_link_in_a_mail_sets_a_new_password(mailoutbox):
    ask()
    assert "Your new password is set" in choose(link_in(mailoutbox[0])).text
    assert sign_in(password=NEW).status_code == 302
    assert sign_in(password=PASSWORD).status_code == 200


def test_the_mail_names_the_account_and_leads_to_our_own_address(mailoutbox):
    Client(headers={"Host": "localhost"}).post("/forgotten-password", {"email": ADDRESS})
    [mail] = mailoutbox
    assert mail.to == [ADDRESS]
    assert "the account marit" in mail.body and "https://cars.example/new-password/" in mail.body


def test_the_link_is_good_once(mailoutbox):
    ask()
    choose(link_in(mailoutbox[0]))
    assert "used already" in choose(link_in(mailoutbox[0]), "another one altogether").text


def test_the_link_is_too_old_after_some_hours(mailoutbox, settings):
    ask()
    settings.PASSWORD_RESET_TIMEOUT = -1
    assert "too old" in Client().get(link_in(mailoutbox[0]), follow=True).text


def test_who_has_no_account_is_answered_alike_and_sent_nothing(mailoutbox):
    assert words(ask("nobody@harrowmere.example")) == words(ask())
    assert [mail.to for mail in mailoutbox] == [[ADDRESS]]


def test_the_answer_has_gone_out_before_the_mail_is_sent(mailoutbox):
    asked = RequestFactory().post("/", {"email": ADDRESS})
    asked._dont_enforce_csrf_checks = True
    answer = ForgottenPassword.as_view()(asked)
    assert not mailoutbox
    answer.close()
    assert len(mailoutbox) == 1


def test_asking_again_at_once_sends_no_second_mail(mailoutbox):
    at = this_instant()
    for minutes in (0, 1, LINK_EVERY.total_seconds() / 60):
        send_password_links(address=ADDRESS, at=at + datetime.timedelta(minutes=minutes))
    assert len(mailoutbox) == 2


def test_an_account_that_was_closed_gets_no_link(mailoutbox):
    Account.objects.update(is_active=False)
    ask()
    assert not mailoutbox


def test_two_accounts_of_one_address_get_a_link_each(mailoutbox):
    other = AccountFactory(email=ADDRESS)
    other.set_password(PASSWORD)
    other.save()
    ask()
    assert len({link_in(mail) for mail in mailoutbox}) == 2


def test_a_mail_server_that_is_away_is_not_told_to_who_asked(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    assert "a link is on its way" in ask().text


def test_without_a_mail_server_people_are_sent_to_whoever_runs_the_service(settings):
    settings.EMAIL_URL = ""
    assert "Ask whoever runs it" in Client().get("/forgotten-password").text


def test_a_new_password_by_mail_ends_the_lock(mailoutbox, quick_hashes, settings):
    settings.AXES_FAILURE_LIMIT = 3
    assert fail(3).status_code == 429
    ask()
    choose(link_in(mailoutbox[0]))
    assert sign_in(password=NEW).status_code == 302


def change(browser, old=PASSWORD, new=NEW):
    sent = {"old_password": old, "new_password1": new, "new_password2": new}
    return browser.post("/password", sent, follow=True)


def test_a_changed_password_signs_other_browsers_out_and_not_this_one(browser, person):
    other = Client()
    other.force_login(person)
    assert "Your password is changed" in change(browser).text
    assert browser.get("/").status_code == 200
    assert other.get("/").status_code == 302


def test_a_password_is_changed_by_who_knows_it(browser):
    change(browser, old="a guess")
    assert sign_in().status_code == 302


@pytest.mark.parametrize("weak", ["brakes", "12345678901", "password1", "marit123"])
def test_a_weak_password_is_refused(browser, weak):
    assert 'aria-invalid="true"' in change(browser, new=weak).text
