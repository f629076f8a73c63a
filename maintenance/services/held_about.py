"""All that is held about one person, for that person or for the secretary of a collection.

What is here is named column by column: no secret, no digest of one, and nothing of a collection
that the person is no longer a member of but how many records of theirs it holds.
"""

import datetime
from collections.abc import Iterable, Mapping
from typing import Any, Final

import orjson
from django.contrib.admin.models import LogEntry
from django.db.models import Model, QuerySet

from maintenance.models import (
    AccessToken,
    Account,
    CalendarFeed,
    Collection,
    ExportJob,
    ImportJob,
    Invitation,
    KeptAnswer,
    Member,
    Message,
    Reminder,
    ReminderPreference,
    Transfer,
    Vehicle,
    Webhook,
    WebhookDelivery,
)
from maintenance.services.chain import KINDS, parts_of, tree
from maintenance.services.history_file.export_history import export_history
from maintenance.services.sign_in import failures_of

#: Of an account, by the name in the document: table, the column that names the person, columns.
OF_ACCOUNT: Final[Mapping[str, tuple[type[Model], str, tuple[str, ...]]]] = {
    "access_tokens": (
        AccessToken,
        "account",
        ("name", "hint", "scope", "issued_at", "expires_at", "revoked_at", "last_used_at"),
    ),
    "calls_made_once": (KeptAnswer, "account", ("key", "kept_at")),
    "changes_in_the_admin": (LogEntry, "user", ("action_time", "object_repr", "change_message")),
}

#: The same of one membership.
OF_MEMBER: Final[Mapping[str, tuple[type[Model], str, tuple[str, ...]]]] = {
    "reminder_preferences": (
        ReminderPreference,
        "member",
        (
            *("channels", "lead_days", "weekly_while_overdue", "digest", "digest_hour"),
            *("digest_weekday", "quiet_from", "quiet_to", "time_zone", "whole_collection"),
        ),
    ),
    "reminders": (
        Reminder,
        "member",
        (
            *("vehicle__registration", "item_key", "due_on", "lead_days", "channel", "state"),
            *("reason", "found_at"),
        ),
    ),
    "messages": (
        Message,
        "member",
        ("channel", "digest", "state", "not_before", "sent_at", "last_error"),
    ),
    "calendar_feeds": (
        CalendarFeed,
        "member",
        ("name", "scope", "form", "criticalities", "lead_times", "issued_at"),
    ),
    "webhooks": (Webhook, "member", ("name", "url", "added_at", "disabled_at")),
    "webhook_deliveries": (
        WebhookDelivery,
        "webhook__member",
        ("event", "state", "queued_at", "finished_at", "body"),
    ),
    "imports": (ImportJob, "member", ("form", "state", "asked_at", "finished_at")),
    "exports": (ExportJob, "member", ("form", "state", "asked_at", "finished_at")),
    "cars_offered_to_them": (
        Transfer,
        "to_keeper",
        ("registration", "state", "offered_at", "keeper_confirmed_at", "ended_at"),
    ),
}

#: An address of the member's own program may be as good as a key to it.
OF_MEMBER_ALONE: Final = frozenset({"webhooks", "webhook_deliveries"})

_ACCOUNT = ("username", "first_name", "last_name", "email", "date_joined", "last_login")
_BY_THEM: Final[Mapping[str, tuple[type[Model], str, tuple[str, ...]]]] = {
    "invitations_made": (Invitation, "invited_by", ("email", "role", "state", "invited_at")),
    "cars_offered": (Transfer, "offered_by", ("registration", "state", "offered_at", "email")),
}


def held_about(*, account: Account, within: Collection | None = None) -> dict[str, Any]:
    """Return all that is held about a person, or what one collection holds of it.

    With `within` it is what its secretary may be given: the membership and what hangs on it, not
    the account, its tokens, its webhooks and its other memberships.
    """
    members = Member.objects.filter(account=account).select_related("collection")
    if within is not None:
        members = members.filter(collection=within)
    document: dict[str, Any] = {}
    if within is None:
        document["account"] = Account.objects.filter(pk=account.pk).values(*_ACCOUNT).get()
        document["invitations_received"] = list(
            Invitation.objects.filter(email__iexact=account.email, collection__in=_of(members))
            .order_by("id")
            .values("collection__name", "role", "state", "invited_at")
            if account.email
            else ()
        )
        document["failed_sign_ins"] = failures_of(username=account.username)
        document |= _rows(OF_ACCOUNT, account)
    hidden = OF_MEMBER_ALONE if within is not None else frozenset()
    document["memberships"] = [
        {name: said for name, said in _membership(member).items() if name not in hidden}
        for member in members.order_by("id")
    ]
    if within is None:
        document["records_elsewhere"] = _records_elsewhere(account, _of(members))
    return document


def as_bytes(document: dict[str, Any]) -> bytes:
    """Return a document as JSON, instants in UTC and figures as they are written."""
    options = orjson.OPT_INDENT_2 | orjson.OPT_UTC_Z
    return orjson.dumps(document, default=_plainly, option=options) + b"\n"


def _membership(member: Member) -> dict[str, Any]:
    collection, account = member.collection, member.account
    kept = Vehicle.objects.filter(keeper=member)
    return {
        "collection": collection.name,
        "name": member.name,
        "role": member.role,
        **_rows(OF_MEMBER, member),
        **_rows(_BY_THEM, account, collection=collection),
        "cars_kept": export_history(collection=collection, vehicles=kept)["vehicles"],
        "recorded": list(_recorded(account, collection)),
    }


def _recorded(account: Account, collection: Collection) -> Iterable[dict[str, Any]]:
    for kind in KINDS:
        rows = kind._default_manager.filter(recorded_by=account, collection=collection)
        records = list(rows.order_by("pk"))
        parts = parts_of(records)
        yield from (tree(record, parts) for record in records)


def _records_elsewhere(account: Account, among: list[Any]) -> int:
    rows = (kind._default_manager.filter(recorded_by=account) for kind in KINDS)
    return sum(each.exclude(collection__in=among).count() for each in rows)


def _rows(
    tables: Mapping[str, tuple[type[Model], str, tuple[str, ...]]], whose: Model, **only: Any
) -> dict[str, Any]:
    return {
        name: list(
            table._default_manager.filter(**{column: whose}, **only).order_by("pk").values(*columns)
        )
        for name, (table, column, columns) in tables.items()
    }


def _of(members: QuerySet[Member]) -> list[Any]:
    return [member.collection_id for member in members]


def _plainly(value: Any) -> Any:
    if isinstance(value, datetime.timedelta):
        return value.total_seconds()
    return str(value)
