"""Cars on offer: to another keeper of the collection, or to whoever has the code elsewhere.

Both sides say yes before anything changes. Until then the side that takes sees the mark, make and
model, and nothing else. Every verb takes one transaction.
"""

import datetime
from collections.abc import Iterator

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from maintenance.models import Account, Collection, Letter, Member, Transfer, Vehicle
from maintenance.models.base import new_id
from maintenance.queries.access import sight_of
from maintenance.queries.second_lock import everything_in_sight
from maintenance.reminders.letters import TRANSFER_PREFIX
from maintenance.reminders.once import digest_of, secret_of
from maintenance.services.cars import locked
from maintenance.services.handover import hand_over
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, Refused, refuse_if_any

LONGEST_DAYS = 90

NO_USE = "opens nothing: it is unknown, used, withdrawn or past its day; ask to be offered it again"
ENDED = "has ended; offer the car anew"
NOBODY = "goes to a keeper who has left the collection; offer the car anew"

State = Transfer.State


@transaction.atomic
def offer_to_keeper(
    *, vehicle: Vehicle, to: Member, by: Account, at: datetime.datetime, days: int | None = None
) -> Transfer:
    """Offer a car to another member of its collection, who confirms to become its keeper.

    The member is told by a letter, where the account has an address, which waits in the outbox and
    is dropped once the word is given. What a keeper offers needs an officer's word too. Refused: a
    car that is closed or on offer already, its own keeper, somebody outside the collection, a time
    out of range.
    """
    row = _offer(vehicle, by, at, days)
    row.elsewhere, row.to_keeper = False, to
    if to.collection_id != row.collection_id:
        raise Refused([Problem("/to_keeper", "is no member of the car's collection")])
    if row.vehicle is not None and row.vehicle.keeper_id == to.pk:
        raise Refused([Problem("/to_keeper", "keeps the car already")])
    row.save(force_insert=True)
    _write_to(to.account.email, row)
    return row


@transaction.atomic
def offer_elsewhere(
    *,
    vehicle: Vehicle,
    by: Account,
    at: datetime.datetime,
    email: str = "",
    days: int | None = None,
) -> tuple[Transfer, str]:
    """Offer a car to another collection; return the offer with its code, shown this once.

    Where an address is given the code is mailed there too. Nothing says which collection it is,
    or whether there is one. Refused as in `offer_to_keeper`, and for what is no address.
    """
    row = _offer(vehicle, by, at, days)
    code = secret_of(TRANSFER_PREFIX, row.pk)
    row.elsewhere, row.email, row.digest = True, email, digest_of(code)
    if email:
        refuse_if_any(_address_problems(email))
    row.save(force_insert=True)
    _write_to(email, row)
    return row, code


@transaction.atomic
def confirm(
    *, transfer: Transfer, by: Account, at: datetime.datetime, today: datetime.date
) -> Transfer:
    """Say yes to a change of keeper, as the new keeper, as an officer, or as both.

    With the last word that was missing the car goes to its new keeper. Refused once the offer has
    ended, where it goes elsewhere, and to whoever has nothing to say in it.
    """
    row = _open(transfer, at)
    if row.elsewhere:
        raise Refused([Problem("", "goes to another collection, which accepts it by its code")])
    if row.to_keeper is None:
        raise Refused([Problem("", NOBODY)])
    as_officer = row.officer_confirmed_at is None and _is_officer(by, row.collection)
    as_keeper = row.keeper_confirmed_at is None and row.to_keeper.account_id == by.pk
    if not as_officer and not as_keeper:
        raise Refused([Problem("", "waits for somebody else's word; you have nothing to confirm")])
    row.officer_confirmed_at = at if as_officer else row.officer_confirmed_at
    row.keeper_confirmed_at = at if as_keeper else row.keeper_confirmed_at
    row.save(update_fields=["officer_confirmed_at", "keeper_confirmed_at"])
    if as_keeper:
        _drop_letter(row)
    if row.officer_confirmed_at and row.keeper_confirmed_at:
        _change_keeper(row, at, today)
    return row


@everything_in_sight()
@transaction.atomic
def end_offer(*, transfer: Transfer, state: Transfer.State, at: datetime.datetime) -> Transfer:
    """End an offer without effect: `withdrawn` by the side that gives, `refused` by the other."""
    row = _open(transfer, at)
    row.state, row.ended_at = state, at
    row.save(update_fields=["state", "ended_at"])
    _drop_letter(row)
    return row


@everything_in_sight()
def offered_by_code(*, code: str, at: datetime.datetime) -> Transfer:
    """Return what a code opens; refused in one way whatever is wrong."""
    found = Transfer.objects.filter(
        digest=digest_of(code), state=State.OFFERED, expires_at__gt=at
    ).first()
    if found is None:
        raise Refused([Problem("/code", NO_USE)])
    return found


@everything_in_sight()
@transaction.atomic
def accept_elsewhere(
    *,
    code: str,
    to: Collection,
    keeper: Member | None,
    at: datetime.datetime,
) -> tuple[Transfer, Vehicle]:
    """Take a car over into another collection, with its whole history and to a keeper or none.

    One transaction under the locks of the offer and the car: either all of it goes or nothing.
    The offer keeps the mark, the day and the head of the history, for the collection that gave.
    Refused as in `offered_by_code` and `handover.hand_over`, into the collection that the car is
    in, and to a keeper who is no member of the one that takes.
    """
    row = _open(offered_by_code(code=code, at=at), at, refusal=Problem("/code", NO_USE))
    if keeper is not None and keeper.collection_id != to.pk:
        raise Refused([Problem("/keeper", "is no member of the collection that takes the car")])
    if row.vehicle is None or row.collection_id == to.pk:
        raise Refused([Problem("/collection", "has the car already; offer it to a keeper")])
    vehicle = locked(row.vehicle)
    left_on = at.astimezone(row.collection.zone).date()
    head = hand_over(
        vehicle=vehicle,
        to=to,
        keeper=keeper,
        left_on=left_on,
        today=at.astimezone(to.zone).date(),
    )
    row.history_length, row.history_head = head
    _done(row, at, left_on)
    return row, vehicle


def _offer(vehicle: Vehicle, by: Account, at: datetime.datetime, days: int | None) -> Transfer:
    vehicle = locked(vehicle)
    # An offer past its day is no reason against another one.
    open_ones = Transfer.objects.filter(vehicle=vehicle, state=State.OFFERED)
    open_ones.filter(expires_at__lte=at).update(state=State.EXPIRED, ended_at=at)
    days = settings.TRANSFER_DAYS if days is None else days
    if not 1 <= days <= LONGEST_DAYS:
        text = f"{days} days is out of range; give 1 to {LONGEST_DAYS}"
        raise Refused([Problem("/days", text)])
    if open_ones.exists():
        raise Refused([Problem("/vehicle", "is on offer already; withdraw that offer first")])
    return Transfer(
        id=new_id(),
        collection_id=vehicle.collection_id,
        vehicle=vehicle,
        registration=vehicle.registration,
        make=vehicle.make,
        model=vehicle.model,
        offered_by=by,
        offered_at=at,
        expires_at=at + datetime.timedelta(days=days),
        officer_confirmed_at=at if _is_officer(by, vehicle.collection) else None,
    )


def _write_to(email: str, row: Transfer) -> None:
    if email:
        Letter.objects.create(
            collection_id=row.collection_id, transfer=row, to=email, next_at=row.offered_at
        )


def _drop_letter(row: Transfer) -> None:
    waiting = Letter.objects.filter(transfer=row, state=Letter.State.WAITING)
    waiting.update(state=Letter.State.DROPPED)


def _is_officer(by: Account, collection: Collection) -> bool:
    """Say whether somebody's word counts for the collection, and not for themselves alone."""
    return sight_of(by).may("confirm", "transfers", collection)


def _open(transfer: Transfer, at: datetime.datetime, refusal: Problem | None = None) -> Transfer:
    """Read an offer anew, lock its car and then it; refused once it has ended, a moment ago too."""
    if transfer.vehicle is not None:
        locked(transfer.vehicle, even_closed=True)
    row = Transfer.objects.select_for_update(of=("self",), no_key=True).get(pk=transfer.pk)
    if row.state != State.OFFERED or row.expires_at <= at:
        raise Refused([refusal or Problem("", ENDED)])
    return row


def _change_keeper(row: Transfer, at: datetime.datetime, today: datetime.date) -> None:
    if row.vehicle is None:
        raise Refused([Problem("", ENDED)])
    vehicle = locked(row.vehicle)
    vehicle.keeper = row.to_keeper
    vehicle.version += 1
    vehicle.save(update_fields=["keeper", "version"])
    # The calendars of the new keeper show it from now on.
    recompute_vehicles(vehicles=[vehicle], on=today)
    _done(row, at, today)


def _done(row: Transfer, at: datetime.datetime, on: datetime.date) -> None:
    row.state, row.ended_at, row.on = State.DONE, at, on
    if row.elsewhere:
        row.vehicle = None
    row.save()


def _address_problems(email: str) -> Iterator[Problem]:
    try:
        validate_email(email)
    except ValidationError:
        yield Problem("/email", f"{email!r} is no e-mail address")
