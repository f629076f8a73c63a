import io
import json
from pathlib import Path

import pytest
from openpyxl import load_workbook

from maintenance.models import Collection, Entry, Measurement, ServiceEvent, Vehicle
from maintenance.services.drafts import EntryDraft, Place, ServiceEventDraft
from maintenance.services.history_file.stored import stored_cars
from maintenance.services.refusals import Refused
from maintenance.services.service_events import record_service_event
from maintenance.services.spreadsheet.export_entries import WRITERS, exported_rows
from maintenance.services.spreadsheet.places import COLUMNS
from maintenance.services.spreadsheet.visits import entries_of
from tests.services.history_file.files import take as take_history
from tests.services.spreadsheet.sheets import MEASURED, ROW, as_csv, car, take

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[3] / "fixtures"
#: What people write that a careless sheet would lose or run.
AWKWARD = (
    '=HYPERLINK("http://harrowmere.example")',
    "+44 0000",
    "-",
    "@lead",
    "\ttab",
    "'=quoted",
    'two\nlines\r\nand "quotes", commas; and semicolons',
    "  blanks kept  ",
    "_x0041_ is no A",
    "bell\x07 and \x1f",
    "#N/A",
    "Kühler – 漢字 🚗",
)


def exported(form, collection):
    stream = io.BytesIO()
    WRITERS[form](exported_rows(Vehicle.objects.filter(collection=collection)), stream)
    return stream.getvalue()


def entries(collection):
    """Every entry in force, by car, as the columns say it."""
    cars = stored_cars(Vehicle.objects.filter(collection=collection))
    return {
        car.row.registration: sorted(map(repr, entries_of(car.contents.service_events)))
        for car in cars
    }


def in_one_line(text):
    """A name as it may be recorded; line breaks and the like stand in notes alone."""
    return text if text.isprintable() else "plain"


def noted(car, note, when):
    name = in_one_line(note)
    entry = EntryDraft(place=Place("brake-fluid"), action="inspect", note=note, supplier=name)
    event = ServiceEventDraft(on="2026-05-01", done_by=name, entries=(entry,))
    record_service_event(vehicle=car, draft=event, **when)


def without_events(collection):
    """The same cars in another club, with nothing done to them yet."""
    made = Collection.objects.create(name="elsewhere")
    for vehicle in Vehicle.objects.filter(collection=collection):
        components = list(vehicle.components.values_list("kind", "position"))
        vehicle.pk, vehicle.collection, vehicle._state.adding = None, made, True
        vehicle.pk = Vehicle._meta.pk.get_default()
        vehicle.keeper = None
        vehicle.save(force_insert=True)
        for kind, position in components:
            vehicle.components.create(collection=made, kind=kind, position=position)
    return made


def test_a_whole_collection_comes_back_with_equal_entries(when):
    document = json.loads((FIXTURES / "demo-collection.json").read_text(encoding="utf-8"))
    take_history(document | {"vehicles": document["vehicles"][:3], "interval_rules": []}, when)
    first = Collection.objects.get()
    assert sum(map(len, entries(first).values())) > 20
    for form in WRITERS:
        other = without_events(first)
        report = take(exported(form, first), other, when)
        assert report.entries_added == report.rows
        assert entries(other) == entries(first)


@pytest.mark.parametrize("form", WRITERS)
@pytest.mark.parametrize("note", AWKWARD)
def test_a_text_comes_back_as_it_was(note, form, when):
    one = car()
    noted(one, note, when)
    other = without_events(one.collection)
    take(exported(form, one.collection), other, when)
    found = Entry.objects.get(collection=other)
    name = in_one_line(note)
    assert (found.note, found.supplier, found.event.done_by) == (note, name, name)


@pytest.mark.parametrize("form", WRITERS)
def test_an_export_adds_nothing_where_it_came_from(form, when):
    one = car()
    take(as_csv(ROW, ROW, MEASURED, ROW | {"on": "2024"}), one.collection, when)
    report = take(exported(form, one.collection), one.collection, when)
    assert (report.entries_added, report.already_there) == (0, 4)


def test_the_columns_stand_in_their_order_behind_a_byte_order_mark():
    raw = exported("csv", car().collection)
    assert raw == b"\xef\xbb\xbf" + ",".join(COLUMNS).encode() + b"\r\n"


def test_no_cell_of_text_begins_a_formula(when):
    one = car()
    noted(one, "=1+1", when)
    line = exported("csv", one.collection).decode("utf-8-sig").splitlines()[1]
    assert line.endswith("'=1+1,,,'=1+1,'=1+1")


def test_a_workbook_holds_numbers_days_and_texts_as_such(when):
    one = car()
    take(as_csv(ROW | {"note": "=1+1"}), one.collection, when)
    sheet = load_workbook(io.BytesIO(exported("xlsx", one.collection))).active
    cells = dict(zip(COLUMNS, sheet[2], strict=True))
    types = [cells[name].data_type for name in ("odometer", "on", "price", "note", "registration")]
    assert types == ["n", "d", "n", "s", "s"]


def test_a_note_too_long_for_a_cell_is_refused_and_not_cut(when):
    one = car()
    noted_long = EntryDraft(place=Place("brake-fluid"), action="inspect", note="x" * 40_000)
    event = ServiceEventDraft(on="2026-05-01", entries=(noted_long,))
    record_service_event(vehicle=one, draft=event, **when)
    with pytest.raises(Refused, match="too long for a cell; export as CSV"):
        exported("xlsx", one.collection)
    other = without_events(one.collection)
    take(exported("csv", one.collection), other, when)
    assert len(Entry.objects.get(collection=other).note) == 40_000


def test_withdrawn_events_are_not_exported(when):
    from maintenance.services.evidence import withdraw

    one = car()
    take(as_csv(ROW), one.collection, when)
    withdraw(record=ServiceEvent.objects.get(), reason="of another car", **when)
    assert exported("csv", one.collection).count(b"\n") == 1


def test_measured_values_come_out_without_filling_zeros(when):
    one = car()
    take(as_csv(MEASURED), one.collection, when)
    assert Measurement.objects.get().value.as_tuple().exponent in (-2, -4)
    assert b",6.25,mm," in exported("csv", one.collection)
