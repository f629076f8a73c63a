"""Due items to be told of, and a keeper who wants each reminder by itself and at any hour."""

import datetime

from maintenance.models import DueItem, Message, NightlyPass, ReminderPreference
from maintenance.queries.today import this_instant
from maintenance.reminders.find import find_reminders
from tests import factories


def keeper_of_due_items(count, *, collection=None, digest="none", due_in=0):
    """Return a keeper who is to be told of so many items on one car, at any hour."""
    collection = collection or club()
    member = factories.MemberFactory(role="keeper", collection=collection)
    today = this_instant().astimezone(collection.zone).date()
    ReminderPreference.objects.create(
        member=member, collection=collection, digest=digest, quiet_from=None, quiet_to=None
    )
    part = factories.ComponentFactory(
        vehicle=factories.VehicleFactory(collection=collection, keeper=member)
    )
    due_on = today + datetime.timedelta(due_in)
    DueItem.objects.bulk_create(
        factories.DueItemFactory.build(
            component=part,
            vehicle=part.vehicle,
            collection=collection,
            due_on=due_on,
            falling_due_from=today,
        )
        for _ in range(count)
    )
    return member


def club():
    """Return a collection whose nightly pass is done: no engine gave the items of these tests."""
    collection = factories.CollectionFactory()
    today = this_instant().astimezone(collection.zone).date()
    NightlyPass.objects.create(collection=collection, done_on=today)
    return collection


def find(member, at=None):
    """Write the reminders of the keeper's club into the outbox, as beat would have done."""
    at = at or this_instant()
    on = at.astimezone(member.collection.zone).date()
    return find_reminders(collection=member.collection, on=on, at=at)


def states():
    """Return how many messages there are in each state."""
    counted = {}
    for state in Message.objects.values_list("state", flat=True):
        counted[state] = counted.get(state, 0) + 1
    return counted


def all_sent(count):
    return states().get("sent", 0) == count


def let_back_off_pass():
    """Have every waiting message ready now, as if its wait were over."""
    Message.objects.filter(state="waiting").update(next_at=this_instant())
