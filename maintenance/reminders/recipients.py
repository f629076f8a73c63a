"""Who is told of which car, so that every car has somebody and nobody reads of others' cars."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from maintenance.models import Collection, Member, ReminderPreference, Vehicle
from maintenance.queries.access import may_ask_for_all_cars


@dataclass(frozen=True)
class Audience:
    """The members to be told of each car of one collection, with their preferences."""

    preferences: Mapping[uuid.UUID, ReminderPreference]
    keepers: Mapping[uuid.UUID, uuid.UUID | None]
    stand_ins: tuple[uuid.UUID, ...]
    of_all: tuple[uuid.UUID, ...]

    def told_of(self, vehicle: uuid.UUID) -> list[ReminderPreference]:
        """Return the preferences of the members told of a car.

        Its keeper, or where it has none the technical officers, or where there is none of these
        either the secretaries; and the officers who want to be told of the whole collection.
        """
        keeper = self.keepers.get(vehicle)
        first = self.stand_ins if keeper is None else (keeper,)
        members = dict.fromkeys((*first, *self.of_all))
        return [self.preferences[member] for member in members if member in self.preferences]


def audience(collection: Collection) -> Audience:
    """Return who is told of what in a collection; three queries."""
    members = list(
        Member.objects.filter(collection=collection, account__is_active=True).order_by("id")
    )
    chosen = {
        row.member_id: row for row in ReminderPreference.objects.filter(collection=collection)
    }
    preferences = {member.id: _with(member, collection, chosen) for member in members}
    of_all = tuple(
        member.id
        for member in members
        if preferences[member.id].whole_collection and may_ask_for_all_cars(member)
    )
    keepers = dict(Vehicle.objects.filter(collection=collection).values_list("id", "keeper"))
    return Audience(preferences, keepers, _stand_ins(members), of_all)


def default_preference(member: Member, collection: Collection) -> ReminderPreference:
    """Return the preference of a member who never chose anything; not saved."""
    return ReminderPreference(member=member, collection=collection)


def _with(
    member: Member, collection: Collection, chosen: Mapping[uuid.UUID, ReminderPreference]
) -> ReminderPreference:
    found = chosen.get(member.id)
    if found is None:
        return default_preference(member, collection)
    # Set by hand, or the zone of every member would cost a query.
    found.collection, found.member = collection, member
    return found


def _stand_ins(members: list[Member]) -> tuple[uuid.UUID, ...]:
    for role in (Member.Role.TECHNICAL_OFFICER, Member.Role.SECRETARY):
        if found := tuple(member.id for member in members if member.role == role):
            return found
    return ()
