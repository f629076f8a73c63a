"""The table of roles as a WHERE clause, and as the answer for one object.

Every read of the API begins here. What a role may do is for `queries.roles` alone to say.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar

from django.db.models import Model, Q, QuerySet

from maintenance.models import Account, Collection, DueItem, Member, Vehicle
from maintenance.queries.roles import Reach, right_to
from maintenance.queries.second_lock import everything_in_sight

Row = TypeVar("Row", bound=Model)

_KEEPER = "vehicle__keeper_id"
#: How a row names the member whose own it is, where it is not by the keeper of its car.
_OWN = {
    "members": "id",
    "vehicles": "keeper_id",
    "findings": "inspection__vehicle__keeper_id",
    "plan-jobs": "plan__vehicle__keeper_id",
    "plan-parts": "plan__vehicle__keeper_id",
    "transfers": "to_keeper_id",
    "reminders": "member_id",
    "reminder-preferences": "member_id",
    "calendar-feeds": "member_id",
    "webhooks": "member_id",
    "webhook-deliveries": "webhook__member_id",
    "imports": "member_id",
    "import-errors": "job__member_id",
    "exports": "member_id",
}
#: How a row names its collection, where it is not by a column of that name.
_COLLECTION = {"collections": "id", "import-errors": "job__collection_id"}
#: What every member of the collection has for their own.
_SHARED = {"interval-rules": Q(vehicle=None)}


@dataclass(frozen=True)
class Sight:
    """What an account may see and do, as plain identifiers.

    They are read once and then stand as constants in every query, so that a list walks the index
    that begins with the collection; a subquery in their place would hide it from the planner.
    """

    memberships: tuple[tuple[uuid.UUID, uuid.UUID, str], ...]

    @property
    def collections(self) -> list[uuid.UUID]:
        """Return the collections the account is a member of."""
        return [collection for _, collection, _ in self.memberships]

    def rows(self, noun: str, rows: QuerySet[Row]) -> QuerySet[Row]:
        """Return those rows of a noun that are in sight."""
        collection = _COLLECTION.get(noun, "collection_id")
        return rows.filter(self._where("see", noun, collection, _OWN.get(noun, _KEEPER)))

    def vehicles(self) -> QuerySet[Vehicle]:
        """Return the cars in sight: all of a collection, or for a keeper their own."""
        return self.rows("vehicles", Vehicle.objects.all())

    def vehicles_to(self, verb: str, noun: str) -> QuerySet[Vehicle]:
        """Return the cars on which the account has a right that goes by the car."""
        return Vehicle.objects.filter(self._where(verb, noun, "collection_id", _OWN["vehicles"]))

    def collections_to(self, verb: str, noun: str) -> list[uuid.UUID]:
        """Return the collections in which the account has a right at least for itself."""
        return [collection for _, collection in self._reaching(verb, noun, Reach.ALL, Reach.OWN)]

    def may(self, verb: str, noun: str, owner: Collection | Vehicle | Member) -> bool:
        """Say whether the account has the right on what belongs to the owner; no query."""
        if right_to(verb, noun).of_anyone:
            return True
        collection = owner.pk if isinstance(owner, Collection) else owner.collection_id
        whole = any(each == collection for _, each in self._reaching(verb, noun, Reach.ALL))
        return whole or any(
            each == collection and _is_own(owner, member)
            for member, each in self._reaching(verb, noun, Reach.OWN)
        )

    def may_somewhere(self, verb: str, noun: str) -> bool:
        """Say whether any membership gives the right at all; no query."""
        return right_to(verb, noun).of_anyone or any(
            True for _ in self._reaching(verb, noun, Reach.ALL, Reach.OWN)
        )

    def _where(self, verb: str, noun: str, collection: str, own: str) -> Q:
        whole = [each for _, each in self._reaching(verb, noun, Reach.ALL)]
        where = Q(**{f"{collection}__in": whole})
        # Without the condition every query of an officer would join the vehicles for nothing.
        if as_owner := list(self._reaching(verb, noun, Reach.OWN)):
            members, collections = zip(*as_owner, strict=True)
            mine = Q(**{f"{own}__in": members}) | _SHARED.get(noun, Q())
            where |= Q(**{f"{collection}__in": collections}) & mine
        return where

    def _reaching(
        self, verb: str, noun: str, *reach: Reach
    ) -> Iterator[tuple[uuid.UUID, uuid.UUID]]:
        right = right_to(verb, noun)
        for member, collection, role in self.memberships:
            if right.reach[role] in reach:
                yield member, collection


def _is_own(owner: Collection | Vehicle | Member, member: uuid.UUID) -> bool:
    return (owner.keeper_id if isinstance(owner, Vehicle) else owner.pk) == member


def sight_of(account: Account) -> Sight:
    """Return what the account may see now; one query."""
    members = Member.objects.filter(account=account).order_by("id")
    # Which collections are in sight is only known once this is read.
    with everything_in_sight():
        return Sight(tuple(members.values_list("id", "collection_id", "role")))


def sight_of_member(member: Member) -> Sight:
    """Return what one membership alone lets its account see; no query."""
    return Sight(((member.pk, member.collection_id, member.role),))


def may_ask_for_all_cars(member: Member) -> bool:
    """Say whether a member may have themselves reminded of every car of the collection."""
    return sight_of_member(member).may("ask for all cars", "reminder-preferences", member)


def may_put_off(sight: Sight, item: DueItem) -> bool:
    """Say whether a due item may be put off: by a keeper alone none that is for safety."""
    verb = "record for safety" if item.criticality_rank == 0 else "record"
    return sight.may(verb, "postponements", item.vehicle)
