"""Undo a correction or a withdrawal: what stood before it is recorded again, and says why."""

import datetime
from collections.abc import Callable
from typing import Any

from django.db import transaction

from maintenance.models import (
    Account,
    Inspection,
    LayUp,
    OdometerChange,
    OdometerReading,
    ServiceEvent,
    Vehicle,
)
from maintenance.models.base import Evidence
from maintenance.services import as_drafts, inspections, lay_ups, odometer, service_events
from maintenance.services.cars import locked
from maintenance.services.drafts import ServiceEventDraft
from maintenance.services.history_file.stored import entries_of, findings_of
from maintenance.services.moves import cars_moved_to
from maintenance.services.refusals import Problem, Refused
from maintenance.services.rows import Origin


def _event_draft(event: ServiceEvent) -> Any:
    return as_drafts.event_draft(event, entries_of(**{"in": [event]})[event.pk])


def _inspection_draft(inspection: Inspection) -> Any:
    found = findings_of(**{"in": [inspection]})[inspection.pk]
    return as_drafts.inspection_draft(inspection, found)


Write = Callable[[Vehicle, Any, Origin, datetime.date], Evidence]
_NOUNS: dict[type[Evidence], tuple[Callable[[Any], Any], Write]] = {
    OdometerReading: (as_drafts.reading_draft, odometer.write_reading),
    OdometerChange: (as_drafts.change_draft, odometer.write_change),
    LayUp: (as_drafts.lay_up_draft, lay_ups.write_lay_up),
    ServiceEvent: (_event_draft, service_events.write_service_event),
    Inspection: (_inspection_draft, inspections.write_inspection),
}
"""How each noun is read back as a draft, and what writes it, with all its checks."""


@transaction.atomic
def undo(
    *,
    record: Evidence,
    reason: str,
    by: Account | None,
    at: datetime.datetime,
    today: datetime.date,
) -> Evidence:
    """Undo the correction or withdrawal that `record` is; all three stay visible.

    One transaction under the lock of the car. Refused: a record that supersedes nothing, one that
    was superseded itself, a missing reason, and whatever a new record would be refused for, such
    as a reading that contradicts one recorded since. Returns the record that stands again.
    """
    earlier = record.supersedes
    if earlier is None:
        text = "corrects nothing, so there is nothing to undo; correct it, or withdraw it"
        raise Refused([Problem("", text)])
    if earlier.withdrawn:
        raise Refused([Problem("", "put a withdrawn record back; withdraw it to undo that")])
    draft_of, write = _NOUNS[type(record)]
    origin = Origin(by=by, at=at, supersedes=record, reason=reason, undoes=True)
    draft = draft_of(earlier)
    others = cars_moved_to(record.vehicle, draft) if isinstance(draft, ServiceEventDraft) else []
    return write(locked(record.vehicle, and_others=others), draft, origin, today)
