"""A history file exported, imported into an empty database and exported again is the same file."""

import datetime
import json
from decimal import Decimal
from pathlib import Path

import pytest

from maintenance.models import Collection, LayUp, OdometerReading, ServiceEvent
from maintenance.services.drafts import (
    EntryDraft,
    LayUpDraft,
    Place,
    ReadingDraft,
    ServiceEventDraft,
)
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.export_history import as_text, export_history
from maintenance.services.lay_ups import lay_up
from maintenance.services.odometer import correct_reading
from maintenance.services.service_events import correct_service_event
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_check import RULE

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[3] / "fixtures"
SHEETS = {
    "papers": [{"kind": "insurance", "number": "P1", "until": "2027-03-31"}],
    "specification": [{"item": "tyre pressure", "value": "1.9", "unit": "bar"}],
}


def text():
    """The only collection as its file; the head of a chain is of one database alone."""
    return as_text(export_history(collection=Collection.objects.get(), with_heads=False))


def emptied():
    """Rename the club, whose records nobody can delete, so that the next import makes another."""
    Collection.objects.update(name="before")


def twice(when):
    """Return the file, and the same once it was imported where nothing was."""
    first = text()
    emptied()
    take(json.loads(first), when)
    other = Collection.objects.exclude(name="before").get()
    return first, as_text(export_history(collection=other, with_heads=False))


@pytest.mark.parametrize("name", ["example-history.json", "demo-collection.json"])
def test_a_whole_collection_comes_back_to_the_byte(name, when):
    take(json.loads((FIXTURES / name).read_text(encoding="utf-8")), when)
    first, second = twice(when)
    assert first == second


def test_a_corrected_and_a_withdrawn_record_come_back_as_they_stand(when):
    readings = [{"on": "2026-03-01", "value": 48000}, {"on": "2026-04-01", "value": 48050}]
    take(file_of(car(odometer_readings=readings)), when)
    early, late = OdometerReading.objects.order_by("on")
    right = ReadingDraft(on=datetime.date(2026, 3, 2), value=Decimal("48000.5"))
    correct_reading(reading=early, draft=right, reason="a day late", **when)
    withdraw(record=late, reason="of another car", **when)
    entry = EntryDraft(place=Place("brake-fluid"), action="renew", price=Decimal("12.50"))
    event = ServiceEventDraft(on="2026-05", cost=Decimal(80), currency="EUR", entries=(entry,))
    correct_service_event(
        event=ServiceEvent.objects.get(), draft=event, reason="day unknown", **when
    )
    first, second = twice(when)
    assert first == second and '"on": "2026-05"' in first and "48050" not in first


def test_an_open_lay_up_comes_back_open(when):
    take(file_of(car(lay_ups=[])), when)
    draft = LayUpDraft(
        from_on=datetime.date(2026, 10, 1),
        storage="damp",
        expected_to=datetime.date(2027, 4, 1),
        preparations=(),
    )
    lay_up(vehicle=OdometerReading.objects.get().vehicle, draft=draft, **when)
    first, second = twice(when)
    assert first == second and '"expected_to": "2027-04-01"' in first
    assert LayUp.objects.filter(to_on=None).count() == 2


def test_papers_specification_and_rules_come_back(when):
    take(file_of(car(**SHEETS), interval_rules=[RULE, RULE | {"vehicle": "HM 77"}]), when)
    first, second = twice(when)
    assert first == second and json.loads(first)["interval_rules"]
    assert set(SHEETS) <= set(json.loads(first)["vehicles"][0])
