"""When a member is to be told: lead times, digests and quiet hours. Pure; no reads but of a zone.

Days are local calendar days of the collection, instants UTC; hours are local to the member and
turned into an instant at once, so that a digest at eight stays at eight when the clocks change.
"""

import datetime
from collections.abc import Collection

from maintenance.models import DueItem, ReminderPreference

WEEK = 7
MOVED_DAYS = 7
"""A day that moved by less is the same day to whoever was told of it; forecasts drift a little."""

_SAFETY = 0


def day_to_tell_of(item: DueItem, *, on: datetime.date) -> datetime.date | None:
    """Return the day that lead times count to, None where there is none.

    For a car that stands, work is due before it is used: on the known end of the lay-up. A paper
    runs out whether the car stands or not, and storage care is for the time it stands.
    """
    if _stands(item, on=on) and item.status in (
        DueItem.Status.BEFORE_USE,
        DueItem.Status.NO_RECORD,
    ):
        back = item.laid_up_until or item.expected_to
        return back if back is not None and back > on else None
    return item.due_on or item.overdue_from or item.falling_due_from


def lead_reached(
    item: DueItem, day: datetime.date | None, *, on: datetime.date, preference: ReminderPreference
) -> int | None:
    """Return the nearest lead time that has come, None while none has.

    None also while somebody has put the item off: they know, and say until when it can wait.
    Only the nearest: whoever was not told in time, because nothing ran or the item is new, is
    told once and not once for each lead time that went by. Without a day an item that no record
    starts is due now, unless its car stands, and as long as nothing is recorded a matter of safety
    is told each week; nothing else without a day is told.
    """
    if item.put_off is not None:
        return None
    if day is None:
        due_now = item.status == DueItem.Status.NO_RECORD and not _stands(item, on=on)
        return _whole_weeks(item, preference, item.no_record_since, on) or 0 if due_now else None
    left = (day - on).days
    weeks = _whole_weeks(item, preference, day, on)
    if weeks is not None:
        return weeks
    reached: Collection[int] = [lead for lead in preference.lead_days if left <= lead]
    return min(reached, default=None)


def goes_out_at(
    preference: ReminderPreference, item: DueItem, day: datetime.date | None, at: datetime.datetime
) -> datetime.datetime:
    """Return the instant at which a reminder found at `at` goes out to a person."""
    if preference.digest == ReminderPreference.Digest.NONE:
        return quiet_until(preference, at) or at
    daily = _next_at_hour(preference, at)
    if preference.digest == ReminderPreference.Digest.DAILY:
        return daily
    weekly = _next_at_hour(preference, at, weekday=preference.digest_weekday)
    # A weekly digest never holds back a safety item that falls due before it comes.
    urgent = item.criticality_rank == _SAFETY and (
        day is None or day <= weekly.astimezone(preference.zone).date()
    )
    return daily if urgent else weekly


def quiet_until(preference: ReminderPreference, at: datetime.datetime) -> datetime.datetime | None:
    """Return when the quiet hours end that `at` lies in, None outside them."""
    start, end = preference.quiet_from, preference.quiet_to
    if start is None or end is None or start == end:
        return None
    local = at.astimezone(preference.zone)
    time = local.time()
    over_midnight = start > end
    quiet = (time >= start or time < end) if over_midnight else (start <= time < end)
    if not quiet:
        return None
    days = 1 if over_midnight and time >= start else 0
    return _instant(local.date() + datetime.timedelta(days), end, preference)


def _stands(item: DueItem, *, on: datetime.date) -> bool:
    if item.storage_care or item.governed_by == DueItem.GovernedBy.EXPIRY:
        return False
    begun = item.laid_up_from is not None and item.laid_up_from <= on
    return begun and (item.laid_up_until is None or item.laid_up_until > on)


def _whole_weeks(
    item: DueItem, preference: ReminderPreference, since: datetime.date | None, on: datetime.date
) -> int | None:
    """Return as a lead time the weeks a matter of safety is late, None where it isn't told so."""
    late = 0 if since is None else (on - since).days
    told = (
        preference.weekly_while_overdue
        and item.criticality_rank == _SAFETY
        and item.status in (DueItem.Status.OVERDUE, DueItem.Status.NO_RECORD)
    )
    return -(late - late % WEEK) if told and late >= WEEK else None


def _next_at_hour(
    preference: ReminderPreference, at: datetime.datetime, weekday: int | None = None
) -> datetime.datetime:
    """Return the next instant at which the digest hour strikes, on a weekday if one is given."""
    day = at.astimezone(preference.zone).date()
    hour = datetime.time(preference.digest_hour)
    while True:
        strikes = _instant(day, hour, preference)
        if strikes > at and weekday in (None, day.isoweekday()):
            return strikes
        day += datetime.timedelta(1)


def _instant(
    day: datetime.date, time: datetime.time, preference: ReminderPreference
) -> datetime.datetime:
    # An hour that the clocks skip becomes the one after it, and one that comes twice its first.
    local = datetime.datetime.combine(day, time, tzinfo=preference.zone)
    return local.astimezone(datetime.UTC)
