"""How tests ask services and read their refusals."""

import datetime
from decimal import Decimal

import pytest

from maintenance.services.drafts import (
    EntryDraft,
    LayUpDraft,
    MeasurementDraft,
    Place,
    ServiceEventDraft,
)
from maintenance.services.refusals import Refused


def refused(act, **arguments):
    """Return the messages of a refusal by their pointers."""
    with pytest.raises(Refused) as refusal:
        act(**arguments)
    return {problem.pointer: problem.message for problem in refusal.value.problems}


def day(text):
    return datetime.date.fromisoformat(text)


def event(*entries, on="2026-05-01", **said):
    return ServiceEventDraft(on=on, entries=entries, **said)


def entry(kind="brake-fluid", position="", action="renew", **said):
    return EntryDraft(place=Place(kind, position), action=action, **said)


def measured(quantity, value, unit):
    return MeasurementDraft(quantity=quantity, value=Decimal(value), unit=unit)


def standing(first, last=None, storage="dry", **said):
    return LayUpDraft(from_on=day(first), to_on=last and day(last), storage=storage, **said)
