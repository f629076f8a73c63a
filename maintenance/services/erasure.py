"""Erase what is held about a person, and leave the evidence standing.

Records go on saying what was done, when and on which car. The account that recorded them stays as
a row without a name, and where a text named the person it reads "former member" since: the chain
of the car holds fingerprints of such texts, and a record of its own for every erasure.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.contrib.admin.models import LogEntry
from django.db import transaction
from django.db.models import Q, QuerySet

from maintenance.models import (
    AccessToken,
    Account,
    Collection,
    ExportJob,
    Invitation,
    KeptAnswer,
    Letter,
    Member,
    Transfer,
)
from maintenance.queries.second_lock import everything_in_sight
from maintenance.services.erased_texts import Names, erase_from_texts
from maintenance.services.members import (
    LAST_SECRETARY,
    lock_members,
    other_secretaries,
    remove_member,
)
from maintenance.services.plans.former_people import rename_people
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.sign_in import unlock

FORMER = "former member"


@dataclass(frozen=True)
class Erased:
    """What became of somebody's data."""

    texts: int
    """Texts on record out of which the name was taken."""
    left: int
    """Texts that name the person and were recorded before texts could be erased."""
    account: bool
    """Whether the account itself was erased, with its tokens."""


@everything_in_sight()
@transaction.atomic
def erase_member(
    *,
    member: Member,
    confirm: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Erased:
    """Erase a member's personal data; nothing brings it back.

    One transaction, with the locks of the cars whose records name the person. Asked for by the
    member, it ends all memberships and the account. Asked for by anybody else, it ends what this
    collection holds, and the account only if it belongs to no other collection and to no staff.

    Refused unless `confirm` is the member's name, and for the last secretary of a collection that
    has other members.
    """
    if confirm != member.name:
        raise Refused([Problem("/confirm", f"is not {member.name!r}; type the name as it is")])
    account = member.account
    of_account = Member.objects.filter(account=account)
    whole = by == account or (of_account.count() == 1 and not account.is_staff)
    members = of_account if whole else of_account.filter(pk=member.pk)
    return _erase(account, members, whole=whole, by=by, at=at, today=today)


@everything_in_sight()
@transaction.atomic
def erase_account(
    *, account: Account, by: Account | None, at: datetime.datetime, today: datetime.date
) -> Erased:
    """Erase an account with all its memberships, as an operator does; refused as above."""
    members = Member.objects.filter(account=account)
    return _erase(account, members, whole=True, by=by, at=at, today=today)


def _erase(
    account: Account,
    members: QuerySet[Member],
    *,
    whole: bool,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Erased:
    listed = list(members.select_related("collection"))
    lock_members(*listed)
    refuse_if_any(_problems(listed))
    label = f"{FORMER} {_number()}"
    names = Names.of(account, listed, label)
    collections = [member.collection for member in listed]
    texts, left = erase_from_texts(
        names=names,
        collections=collections,
        recorded_by=account if whole else None,
        by=by,
        at=at,
        today=today,
    )
    _forget_elsewhere(account, listed, names, collections if not whole else None)
    for member in listed:
        _end(member, today)
    if whole:
        _erase_account(account, label)
    return Erased(texts, left, whole)


def _problems(members: list[Member]) -> Iterator[Problem]:
    for member in members:
        if not _alone(member) and not other_secretaries(member):
            yield Problem("", f"of {member.collection}: {LAST_SECRETARY}")


def _alone(member: Member) -> bool:
    return Member.objects.filter(collection=member.collection_id).count() == 1


def _end(member: Member, today: datetime.date) -> None:
    """End a membership; that of the only member leaves a collection that nobody is in."""
    if _alone(member):
        member.delete()
    else:
        remove_member(member=member, today=today)


def _forget_elsewhere(
    account: Account, members: list[Member], names: Names, within: list[Collection] | None
) -> None:
    """Take the person out of what is no evidence, in some collections or in all."""
    rows: Any = Q() if within is None else Q(collection__in=within)
    # Written to the address of its day, which need not be the present one.
    Letter.objects.filter(rows, transfer__to_keeper__account=account).delete()
    if account.email:
        Invitation.objects.filter(rows, email__iexact=account.email).delete()
        Letter.objects.filter(rows, to__iexact=account.email).delete()
        Transfer.objects.filter(rows, email__iexact=account.email).update(email="")
    # Elsewhere somebody of the same name is somebody else.
    theirs = Q(collection__in=[member.collection_id for member in members])
    # Files made before hold the name; whoever needs one asks for it again.
    ExportJob.objects.filter(theirs).delete()
    rename_people(within=theirs, without=names.without, label=names.label)
    keys = [str(account.pk), *(str(member.pk) for member in members)]
    LogEntry.objects.filter(object_id__in=keys).update(object_repr=names.label)


def _erase_account(account: Account, label: str) -> None:
    unlock(username=account.username)
    AccessToken.objects.filter(account=account).delete()
    KeptAnswer.objects.filter(account=account).delete()
    account.username = label
    account.first_name = account.last_name = account.email = ""
    # An account that is not active has no session any more, whatever its cookie says.
    account.is_active = account.is_staff = account.is_superuser = False
    account.last_login = account.password_mail_at = None
    account.set_unusable_password()
    account.save()


def _number() -> int:
    """Return the number of the next former member."""
    former = Account.objects.filter(username__startswith=f"{FORMER} ", is_active=False)
    numbers = (name.rpartition(" ")[2] for name in former.values_list("username", flat=True))
    return max((int(number) for number in numbers if number.isdecimal()), default=0) + 1
