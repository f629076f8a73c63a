"""People are asked by e-mail to become members, and accept by the secret of the letter."""

import datetime
import re

import pytest
from django.core import mail

from maintenance.models import Account, Invitation, Letter, Member
from maintenance.reminders.deliver import deliver
from maintenance.services.accounts import NewAccount
from maintenance.services.invitations import accept_invitation, invite, withdraw_invitation
from tests.factories import AccountFactory, CollectionFactory, MemberFactory, VehicleFactory
from tests.services.asking import refused

pytestmark = pytest.mark.django_db

ADA = NewAccount(username="ada", password="a heron by the mere")


@pytest.fixture
def mail_set_up(settings):
    settings.EMAIL_URL = "smtp://127.0.0.1"


@pytest.fixture
def secretary():
    return MemberFactory(role="secretary")


@pytest.fixture
def ask(secretary, now):
    def asked(email="ada@mere.example", role="keeper", at=now, **said):
        return invite(
            collection=secretary.collection,
            email=email,
            role=role,
            by=secretary.account,
            at=at,
            **said,
        )

    return asked


@pytest.fixture
def post(mail_set_up, now):
    """Send what waits, and return the secrets of the letters."""

    def posted(at=now):
        deliver(channel="email", clock=lambda: at)
        return [re.search(r"/invitations/(\S+)", each.body)[1] for each in mail.outbox]

    return posted


def test_the_letter_tells_where_to_and_as_what(ask, post, secretary):
    ask(name="Ada Merrow")
    [secret] = post()
    [letter] = mail.outbox
    assert letter.to == ["ada@mere.example"]
    assert secretary.collection.name in letter.subject
    assert "Dear Ada Merrow" in letter.body and "as keeper" in letter.body
    assert secret.startswith("idleinv_")


def test_the_secret_stands_nowhere_in_the_database(ask, post):
    invitation = ask()
    [secret] = post()
    kept = [*Invitation.objects.values_list(), *Letter.objects.values_list()]
    assert secret not in repr(kept)
    assert len(invitation.digest) == 64


def test_a_letter_sent_twice_is_one_letter_with_one_secret(ask, post, now):
    ask()
    first = post()
    Letter.objects.update(state="waiting", next_at=now)
    assert post() == first * 2
    assert len({each.message()["Message-ID"] for each in mail.outbox}) == 1


def test_an_account_accepts_and_is_a_member_in_that_role(ask, post, now):
    ask(role="technical_officer", name="Ada Merrow")
    account = AccountFactory()
    [secret] = post()
    member = accept_invitation(secret=secret, account=account, at=now)
    assert (member.account, member.role, member.name) == (
        account,
        "technical_officer",
        "Ada Merrow",
    )


def test_somebody_without_an_account_makes_one_by_accepting(ask, post, now):
    ask()
    [secret] = post()
    accept_invitation(secret=secret, account=ADA, at=now, name="Ada")
    account = Account.objects.get(username="ada")
    assert (account.email, account.check_password(ADA.password)) == ("ada@mere.example", True)
    assert account.password.startswith("argon2")


def test_a_weak_password_or_a_taken_name_is_refused_and_nothing_is_used_up(ask, post, now):
    ask()
    AccountFactory(username="Ada")
    [secret] = post()
    weak = NewAccount(username="ada", password="ada")
    assert set(refused(accept_invitation, secret=secret, account=weak, at=now)) == {
        "/username",
        "/password",
    }
    assert accept_invitation(secret=secret, account=AccountFactory(), at=now)


def test_unknown_used_withdrawn_and_expired_secrets_are_refused_alike(ask, post, now):
    ask()
    used = post()[0]
    accept_invitation(secret=used, account=AccountFactory(), at=now)
    withdrawn_one = ask("bo@mere.example")
    withdrawn = post()[-1]
    withdraw_invitation(invitation=withdrawn_one)
    ask("cy@mere.example", days=1)
    expired = post()[-1]
    told = [
        refused(accept_invitation, secret=secret, account=ADA, at=at)
        for secret, at in (
            ("idleinv_nobody", now),
            (used, now),
            (withdrawn, now),
            (expired, now + datetime.timedelta(days=1)),
        )
    ]
    assert told == [told[0]] * 4
    assert not Account.objects.filter(username="ada").exists()


def test_the_cars_named_go_to_the_member_unless_somebody_keeps_them_by_now(
    ask, post, secretary, now
):
    first, second = (VehicleFactory(collection=secretary.collection) for _ in range(2))
    ask(vehicles=[first, second])
    type(second).objects.filter(pk=second.pk).update(keeper=secretary)
    member = accept_invitation(secret=post()[0], account=AccountFactory(), at=now)
    assert list(member.vehicles.all()) == [first]


def test_who_is_a_member_already_accepts_nothing(ask, post, secretary, now):
    ask()
    problems = refused(accept_invitation, secret=post()[0], account=secretary.account, at=now)
    assert set(problems) == {"/account"}
    assert Invitation.objects.get().state == "open"


def test_what_can_not_be_an_invitation_is_refused_by_its_field(ask):
    problems = refused(
        ask, email="ada", role="keper", days=0, vehicles=[VehicleFactory()], name="a" * 121
    )
    assert set(problems) == {"/email", "/role", "/days", "/vehicles/0", "/name"}
    assert "'keeper'" in problems["/role"]


def test_an_address_is_asked_once_at_a_time(ask, now):
    first = ask()
    assert set(refused(ask, email="ADA@mere.example")) == {"/email"}
    withdraw_invitation(invitation=first)
    assert ask().state == "open"


def test_an_invitation_past_its_day_is_no_reason_against_another(ask, now):
    first = ask()
    later = now + datetime.timedelta(days=15)
    assert ask(at=later).state == "open"
    first.refresh_from_db()
    assert first.state == "expired"


def test_an_invitation_that_ended_long_ago_is_forgotten(ask, now):
    ask()
    ask("bo@mere.example", at=now + datetime.timedelta(days=120))
    assert [each.email for each in Invitation.objects.all()] == ["bo@mere.example"]


def test_a_letter_of_a_withdrawn_invitation_is_not_sent(ask, post):
    withdraw_invitation(invitation=ask())
    assert post() == []
    assert Letter.objects.get().state == "dropped"


def test_a_letter_of_an_invitation_past_its_days_is_dropped(ask, mail_set_up, now):
    ask()
    late = now + datetime.timedelta(days=120)
    done = deliver(channel="email", clock=lambda: late)
    assert (done.failed, done.dropped, Letter.objects.get().state) == (0, 1, "dropped")


def test_without_a_mail_server_letters_wait(ask, now):
    ask()
    deliver(channel="email", clock=lambda: now)
    assert (Letter.objects.get().state, mail.outbox) == ("waiting", [])


def test_a_letter_that_the_server_refuses_waits_and_then_goes_out(ask, post, now, monkeypatch):
    ask()
    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.message.EmailMessage.send", _refused)
        post()
    letter = Letter.objects.get()
    assert (letter.state, letter.failures) == ("waiting", 1)
    assert "<address>" not in letter.last_error and "refused" in letter.last_error
    assert len(post(now + datetime.timedelta(hours=1))) == 1
    assert Letter.objects.get().state == "sent"


def _refused(message):
    raise ConnectionRefusedError("refused")


def test_two_clubs_may_ask_the_same_person(ask, post, now):
    ask()
    other = MemberFactory(collection=CollectionFactory(), role="secretary")
    invite(
        collection=other.collection,
        email="ada@mere.example",
        role="viewer",
        by=other.account,
        at=now,
    )
    account = AccountFactory()
    for secret in post():
        accept_invitation(secret=secret, account=account, at=now)
    assert Member.objects.filter(account=account).count() == 2
