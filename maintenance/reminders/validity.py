"""Whether a reminder that was not sent yet is still true, and if not, why."""

import datetime
from collections.abc import Iterable

from django.utils.translation import gettext as _

from maintenance.models import DueItem, Reminder, Vehicle
from maintenance.queries.due_items import due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.reminders.recipients import Audience, audience
from maintenance.reminders.timing import day_to_tell_of, lead_reached

_BATCH = 1000


def due_items_of(reminders: Iterable[Reminder], on: datetime.date) -> list[DueItem]:
    """Return the due items of some reminders of one collection as they stand on a day."""
    wanted = {reminder.due_item_id for reminder in reminders if reminder.due_item_id}
    cars = {reminder.vehicle_id for reminder in reminders}
    found = due_list(Vehicle.objects.filter(pk__in=cars), on=on).filter(pk__in=wanted)
    return with_put_offs(found.select_related("vehicle").iterator(_BATCH), on=on)


def why_no_longer(reminder: Reminder, *, at: datetime.datetime) -> str:
    """Return why a reminder by itself is not to be sent at an instant, empty if it is."""
    on = at.astimezone(reminder.collection.zone).date()
    item = next(iter(due_items_of([reminder], on)), None)
    return why_dropped(reminder, item, audience(reminder.collection), on=on)


def why_dropped(
    reminder: Reminder, item: DueItem | None, told_whom: Audience, *, on: datetime.date
) -> str:
    """Return why a reminder is not to be sent any more, empty if it still is.

    `item` is the due item as it stands on the day asked about, None where there is none.
    """
    preference = next(
        (
            each
            for each in told_whom.told_of(reminder.vehicle_id)
            if each.member_id == reminder.member_id
        ),
        None,
    )
    if item is None:
        return _("The work is recorded or no longer asked for.")
    if preference is None:
        return _("The member is no longer told of this car.")
    if reminder.channel not in preference.channels:
        return _("The member no longer chooses this channel.")
    day = day_to_tell_of(item, on=on)
    if day != reminder.due_on:
        return _day_moved(reminder, item, day)
    lead = lead_reached(item, day, on=on, preference=preference)
    if item.put_off is not None:
        return _("The item is put off until %(day)s.") % {"day": item.put_off.until}
    if lead is None:
        return _("The day is further off than any lead time the member chooses.")
    if lead != reminder.lead_days:
        return _("Replaced by a later reminder of the same day.")
    return ""


def _day_moved(reminder: Reminder, item: DueItem, day: datetime.date | None) -> str:
    before, now = reminder.due_on, day
    if now is None:
        if item.status == DueItem.Status.BEFORE_USE:
            return _("The car is laid up, and its return has no known day.")
        return _("The item has no due day any more.")
    if before is None:
        return _("The item had no day and is now due on %(now)s.") % {"now": now}
    return _("The due day moved from %(before)s to %(now)s.") % {"before": before, "now": now}
