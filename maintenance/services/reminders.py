"""Choose how to be told, stop being told, and send again what could not be delivered."""

import datetime
import uuid
from collections.abc import Iterator, Mapping
from typing import Any, Final

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from maintenance.catalogue.words import unknown
from maintenance.models import Member, Reminder, ReminderPreference
from maintenance.models.collections import known_time_zone
from maintenance.queries.access import may_ask_for_all_cars
from maintenance.queries.second_lock import everything_in_sight
from maintenance.reminders import outbox
from maintenance.reminders.channels.registry import CHANNELS
from maintenance.reminders.recipients import default_preference
from maintenance.services.refusals import Problem, Refused, refuse_if_any
from maintenance.services.versions import locked_at

MOST_LEAD_DAYS: Final = 366
MOST_LEAD_TIMES: Final = 10
CHOSEN_ALREADY = "has chosen before; change that choice"
NOT_UNDELIVERED = "is not an undelivered reminder; only what was given up can be sent again"

_FIELDS: Final = (
    *("channels", "lead_days", "weekly_while_overdue", "digest", "digest_hour"),
    *("digest_weekday", "quiet_from", "quiet_to", "time_zone", "whole_collection"),
)


@transaction.atomic
def choose_reminders(*, member: Member, choice: Mapping[str, Any]) -> ReminderPreference:
    """Choose for the first time how a member is told; refused where a choice stands already."""
    preference = default_preference(member, member.collection)
    _set(preference, choice)
    try:
        with transaction.atomic():
            preference.save(force_insert=True)
    except IntegrityError:
        raise Refused([Problem("/member", CHOSEN_ALREADY)]) from None
    return preference


@transaction.atomic
def change_reminders(
    *, preference: ReminderPreference, version: int, changes: Mapping[str, Any]
) -> ReminderPreference:
    """Change how a member is told; `Outdated` for another version than the present one."""
    preference = locked_at(preference, version)
    _set(preference, changes)
    preference.save()
    return preference


@transaction.atomic
def forget_choice(*, preference: ReminderPreference, version: int) -> None:
    """Go back to the defaults."""
    locked_at(preference, version).delete()


@everything_in_sight()
@transaction.atomic
def unsubscribe(*, member: uuid.UUID, channel: str) -> bool:
    """Stop a channel for a member, once or again; False where there is no such member."""
    found = Member.objects.select_related("collection").filter(pk=member).first()
    if found is None:
        return False
    preference, _made = ReminderPreference.objects.select_for_update().get_or_create(
        member=found, defaults={"collection": found.collection}
    )
    if channel in preference.channels:
        preference.channels = [each for each in preference.channels if each != channel]
        preference.version += 1
        preference.save(update_fields=["channels", "version"])
    return True


def send_again(*, reminder: Reminder, at: datetime.datetime) -> None:
    """Put the message of an undelivered reminder back into the outbox; refused for any other."""
    if reminder.message is None or not outbox.resend(reminder.message, at=at):
        raise Refused([Problem("", NOT_UNDELIVERED)])


def _set(preference: ReminderPreference, values: Mapping[str, Any]) -> None:
    for name in _FIELDS:
        setattr(preference, name, values.get(name, getattr(preference, name)))
    refuse_if_any(preference_problems(preference))
    preference.lead_days = sorted(set(preference.lead_days), reverse=True)
    preference.channels = list(dict.fromkeys(preference.channels))


def preference_problems(preference: ReminderPreference) -> Iterator[Problem]:
    """Tell what is wrong with a row about to be saved."""
    for place, channel in enumerate(preference.channels):
        if channel not in CHANNELS:
            yield Problem(f"/channels/{place}", unknown("channel", channel, list(CHANNELS)))
    yield from _lead_problems(preference.lead_days)
    if preference.digest not in ReminderPreference.Digest.values:
        words = ReminderPreference.Digest.values
        yield Problem("/digest", unknown("digest", preference.digest, words))
    yield from _time_problems(preference)
    if preference.whole_collection and not may_ask_for_all_cars(preference.member):
        text = "is for officers; a member of another role is told of their own cars"
        yield Problem("/whole_collection", text)


def _lead_problems(lead_days: list[int]) -> Iterator[Problem]:
    if not lead_days:
        text = "is empty; give at least one lead time, such as 0 for the day itself"
        yield Problem("/lead_days", text)
    if len(lead_days) > MOST_LEAD_TIMES:
        yield Problem("/lead_days", f"has {len(lead_days)} lead times; give {MOST_LEAD_TIMES}")
    for place, lead in enumerate(lead_days):
        if not 0 <= lead <= MOST_LEAD_DAYS:
            text = f"{lead} is no lead time; give whole days from 0 to {MOST_LEAD_DAYS}"
            yield Problem(f"/lead_days/{place}", text)


def _time_problems(preference: ReminderPreference) -> Iterator[Problem]:
    if not 0 <= preference.digest_hour <= 23:
        yield Problem("/digest_hour", f"{preference.digest_hour} is no hour; give 0 to 23")
    if not 1 <= preference.digest_weekday <= 7:
        text = f"{preference.digest_weekday} is no day of the week; give 1 for Monday to 7"
        yield Problem("/digest_weekday", text)
    if (preference.quiet_from is None) != (preference.quiet_to is None):
        lacking = "quiet_to" if preference.quiet_to is None else "quiet_from"
        text = "is missing; quiet hours have a start and an end, or neither"
        yield Problem(f"/{lacking}", text)
    if preference.time_zone:
        try:
            known_time_zone(preference.time_zone)
        except ValidationError as wrong:
            yield Problem("/time_zone", str(wrong.message))
