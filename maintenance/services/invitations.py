"""Invite people by e-mail to become members; they accept by the secret of the letter.

Nothing tells the secretary whether an address belongs to an account: an invitation is made,
mailed and answered alike for known and unknown ones.
"""

import datetime
from collections.abc import Iterator, Sequence

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.db.models import F

from maintenance.catalogue.words import unknown
from maintenance.models import Account, Collection, Invitation, Letter, Member, Vehicle
from maintenance.models.base import new_id
from maintenance.queries.second_lock import everything_in_sight
from maintenance.reminders.letters import INVITATION_PREFIX
from maintenance.reminders.once import digest_of, secret_of
from maintenance.services.accounts import NewAccount, make_account
from maintenance.services.cars import all_locked
from maintenance.services.checks.figures import text_problems
from maintenance.services.members import add_member
from maintenance.services.refusals import Problem, Refused, refuse_if_any

LONGEST_DAYS = 90
#: More open invitations than a club needs at a time, and few enough not to be a nuisance to many.
MOST_OPEN = 200
#: How long a closed invitation is kept, which holds somebody's address.
KEPT = datetime.timedelta(days=90)

NO_USE = "opens nothing: it is unknown, used, withdrawn or past its day; ask to be invited again"
GONE = "is accepted or withdrawn already"


@transaction.atomic
def invite(
    *,
    collection: Collection,
    email: str,
    role: str,
    by: Account,
    at: datetime.datetime,
    name: str = "",
    vehicles: Sequence[Vehicle] = (),
    days: int | None = None,
) -> Invitation:
    """Invite an address and leave the letter to the outbox; its secret is shown nowhere else.

    Invitations that ended long ago are removed by the way. Refused, each by its field: what is no
    address, one that an open invitation names, an unknown role, a car of another collection, a
    time out of range, and more than `MOST_OPEN` at a time.
    """
    # Without the lock two requests could each find room for the last one.
    Collection.objects.select_for_update(no_key=True).get(pk=collection.pk)
    rows = Invitation.objects.filter(collection=collection)
    rows.filter(expires_at__lt=at - KEPT).delete()
    # One past its day is no reason against another one.
    rows.filter(state=Invitation.State.OPEN, expires_at__lte=at).update(
        state=Invitation.State.EXPIRED
    )
    days = settings.INVITATION_DAYS if days is None else days
    pk = new_id()
    row = Invitation(
        id=pk,
        collection=collection,
        email=email,
        name=name,
        role=role,
        vehicles=[str(car.pk) for car in vehicles],
        digest=digest_of(secret_of(INVITATION_PREFIX, pk)),
        invited_by=by,
        invited_at=at,
        expires_at=at + datetime.timedelta(days=max(1, min(days, LONGEST_DAYS))),
    )
    refuse_if_any([*_problems(row, vehicles), *_days_problems(days)])
    row.save(force_insert=True)
    Letter.objects.create(collection=collection, invitation=row, to=email, next_at=at)
    return row


@transaction.atomic
def withdraw_invitation(*, invitation: Invitation) -> None:
    """Make an invitation useless; a letter that waits is not sent. Refused if it is closed."""
    open_one = Invitation.objects.filter(pk=invitation.pk, state=Invitation.State.OPEN)
    if open_one.update(state=Invitation.State.WITHDRAWN) != 1:
        raise Refused([Problem("", GONE)])
    Letter.objects.filter(invitation=invitation, state=Letter.State.WAITING).update(
        state=Letter.State.DROPPED
    )


@everything_in_sight()
def open_invitation(*, secret: str, at: datetime.datetime) -> Invitation:
    """Return what a secret opens, with its collection; refused in one way whatever is wrong."""
    found = (
        Invitation.objects.select_related("collection")
        .filter(digest=digest_of(secret), state=Invitation.State.OPEN, expires_at__gt=at)
        .first()
    )
    if found is None:
        raise Refused([Problem("/secret", NO_USE)])
    return found


@everything_in_sight()
@transaction.atomic
def accept_invitation(
    *,
    secret: str,
    account: Account | NewAccount,
    at: datetime.datetime,
    name: str = "",
) -> Member:
    """Make an account that is there, or a new one, the member that was invited.

    One transaction, in which the invitation is closed by count, so that of two who accept at the
    same time one does. The cars it names go to the member as far as they are still in the
    collection and have no keeper. Refused as in `open_invitation` and `make_account`, and for a
    member of the collection, whose invitation stays open.
    """
    invitation = open_invitation(secret=secret, at=at)
    open_one = Invitation.objects.filter(pk=invitation.pk, state=Invitation.State.OPEN)
    if open_one.update(state=Invitation.State.ACCEPTED) != 1:
        raise Refused([Problem("/secret", NO_USE)])
    if isinstance(account, NewAccount):
        account = make_account(wanted=account, email=invitation.email)
    member = add_member(
        collection=invitation.collection,
        account=account,
        name=name or invitation.name or account.get_full_name() or account.get_username()[:120],
        role=invitation.role,
    )
    cars = Vehicle.objects.filter(pk__in=invitation.vehicles, collection=invitation.collection)
    free = [car.pk for car in all_locked(cars) if car.keeper_id is None]
    cars.filter(pk__in=free).update(keeper=member, version=F("version") + 1)
    return member


def _problems(row: Invitation, vehicles: Sequence[Vehicle]) -> Iterator[Problem]:
    try:
        validate_email(row.email)
    except ValidationError:
        yield Problem("/email", f"{row.email!r} is no e-mail address")
    yield from text_problems("/name", row.name, longest=120)
    if row.role not in Member.Role.values:
        yield Problem("/role", unknown("role", row.role, Member.Role.values))
    for place, car in enumerate(vehicles):
        if car.collection_id != row.collection_id:
            yield Problem(f"/vehicles/{place}", "is no car of the collection")
    others = Invitation.objects.filter(collection=row.collection_id, state=Invitation.State.OPEN)
    if others.filter(email__iexact=row.email).exists():
        yield Problem("/email", "is invited already; withdraw that invitation to make another")
    if others.count() >= MOST_OPEN:
        yield Problem("", f"there are {MOST_OPEN} open invitations; withdraw some first")


def _days_problems(days: int) -> Iterator[Problem]:
    if not 1 <= days <= LONGEST_DAYS:
        yield Problem("/days", f"{days} days is out of range; give 1 to {LONGEST_DAYS}")
