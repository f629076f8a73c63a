"""A keeper's car with an item that falls due, and finding and sending at an instant."""

import datetime

from maintenance.models import ReminderPreference
from maintenance.reminders.deliver import deliver
from maintenance.reminders.find import find_reminders
from tests import factories

NOW = factories.NOW
TODAY = NOW.date()


def item_due(in_days=30, *, member=None, **fields):
    """Return an item of a keeper's car that falls due in so many days."""
    member = member or factories.MemberFactory(role="keeper")
    car = fields.pop("vehicle", None) or factories.VehicleFactory(
        collection=member.collection, keeper=member
    )
    due_on = None if in_days is None else TODAY + datetime.timedelta(in_days)
    fields = {
        "due_on": due_on,
        "order_day": due_on or datetime.date.min,
        "falling_due_from": due_on and due_on - datetime.timedelta(30),
        "overdue_from": due_on and due_on + datetime.timedelta(1),
    } | fields
    return factories.DueItemFactory(
        component=factories.ComponentFactory(vehicle=car, kind=fields.pop("kind", "brake-fluid")),
        **fields,
    )


def preference_of(member, **chosen):
    """Have a member told of each item by itself and at any hour, but for what is chosen."""
    plain = {"digest": "none", "quiet_from": None, "quiet_to": None}
    return ReminderPreference.objects.create(
        member=member, collection=member.collection, **(plain | chosen)
    )


def find(item, *, days_later=0, at=None):
    """Find reminders of the item's collection so many days later."""
    at = at or NOW + datetime.timedelta(days_later)
    on = at.astimezone(item.collection.zone).date()
    return find_reminders(collection=item.collection, on=on, at=at)


def send(*, days_later=0, at=None):
    """Send what is ready so many days later."""
    at = at or NOW + datetime.timedelta(days_later)
    return deliver(channel="email", clock=lambda: at)
