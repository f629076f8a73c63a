"""Make accounts for people who come by invitation."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from maintenance.models import Account
from maintenance.services.refusals import Problem, refuse_if_any


@dataclass(frozen=True, kw_only=True)
class NewAccount:
    """How somebody wishes to sign in."""

    username: str
    password: str


def make_account(*, wanted: NewAccount, email: str) -> Account:
    """Make an account; to be called in the transaction of what it is made for.

    Refused, each by its field: a user name that is taken or has odd characters, and a password
    that is short, common or like the name.
    """
    account = Account(username=wanted.username, email=email)
    refuse_if_any(_problems(account, wanted.password))
    account.set_password(wanted.password)
    account.save(force_insert=True)
    return account


def _problems(account: Account, password: str) -> Iterator[Problem]:
    yield from _said("/username", lambda: account.clean_fields(exclude={"password", "email"}))
    yield from _said("/password", lambda: validate_password(password, account))
    if Account.objects.filter(username__iexact=account.username).exists():
        yield Problem("/username", "is taken; choose another, or sign in if it is yours")


def _said(pointer: str, check: Callable[[], None]) -> Iterator[Problem]:
    try:
        check()
    except ValidationError as wrong:
        yield from (Problem(pointer, text) for text in wrong.messages)
