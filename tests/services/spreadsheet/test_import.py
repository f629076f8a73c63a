import datetime
from decimal import Decimal

import pytest

from maintenance.models import Entry, HistoryLink, Measurement, OdometerReading, ServiceEvent
from maintenance.services.departures import leave
from maintenance.services.drafts import EntryDraft, Place, ServiceEventDraft
from maintenance.services.service_events import correct_service_event
from tests.factories import (
    AccountFactory,
    CollectionFactory,
    MemberFactory,
    OdometerReadingFactory,
    VehicleFactory,
)
from tests.services.spreadsheet.sheets import MEASURED, ROW, as_csv, as_xlsx, car, refusals, take

pytestmark = pytest.mark.django_db


@pytest.fixture
def heron():
    return car()


def test_rows_of_one_visit_become_one_service_event(heron, when):
    report = take(as_csv(ROW, MEASURED), heron.collection, when)
    event = ServiceEvent.objects.get()
    assert (event.odometer, event.done_by, event.currency, event.entries.count()) == (
        Decimal("48100.5"),
        "Mere Lane Garage",
        "EUR",
        2,
    )
    assert (report.rows, report.entries_added, report.events_added) == (2, 2, 1)


def test_a_measurement_is_kept_with_its_unit(heron, when):
    take(as_csv(MEASURED), heron.collection, when)
    found = Measurement.objects.get()
    assert (found.quantity, found.value, found.unit) == ("lining_thickness", Decimal("6.25"), "mm")


@pytest.mark.parametrize(
    "other", [{"on": "2026-05-02"}, {"odometer": "48101"}, {"done_by": "the keeper"}]
)
def test_another_day_reading_or_workshop_is_another_event(other, heron, when):
    take(as_csv(ROW, MEASURED | other), heron.collection, when)
    assert ServiceEvent.objects.count() == 2


def test_prices_in_two_currencies_are_two_events(heron, when):
    take(as_csv(ROW, MEASURED | {"price": "3", "currency": "GBP"}), heron.collection, when)
    assert sorted(ServiceEvent.objects.values_list("currency", flat=True)) == ["EUR", "GBP"]


def test_every_event_has_its_link_in_the_cars_chain(heron, when):
    take(as_csv(ROW, MEASURED | {"on": "2026-05-02"}), heron.collection, when)
    assert HistoryLink.objects.filter(vehicle=heron).count() == 2


def test_due_items_follow_the_import(heron, when):
    take(as_csv(ROW), heron.collection, when)
    assert heron.due_items.filter(kind="brake-fluid").exclude(due_on=None).exists()


def test_the_same_file_twice_adds_nothing(heron, when):
    take(as_csv(ROW, MEASURED), heron.collection, when)
    again = take(as_xlsx(ROW, MEASURED), heron.collection, when)
    assert (again.entries_added, again.already_there, Entry.objects.count()) == (0, 2, 2)


def test_a_file_with_one_row_more_adds_that_row(heron, when):
    take(as_csv(ROW), heron.collection, when)
    again = take(as_csv(ROW, MEASURED), heron.collection, when)
    assert (again.entries_added, again.already_there) == (1, 1)


def test_two_equal_rows_count_twice_and_are_noted(heron, when):
    report = take(as_csv(ROW, ROW), heron.collection, when)
    assert (report.entries_added, report.events_added) == (2, 2)
    assert report.warnings == ["row 3 says the same as row 2; it counts as a second entry"]
    assert take(as_csv(ROW, ROW), heron.collection, when).entries_added == 0


def test_a_file_from_before_a_correction_does_not_bring_the_error_back(heron, when):
    take(as_csv(ROW), heron.collection, when)
    corrected = ServiceEventDraft(
        on="2026-04-30", entries=(EntryDraft(place=Place("brake-fluid"), action="inspect"),)
    )
    correct_service_event(
        event=ServiceEvent.objects.get(), draft=corrected, reason="misread", **when
    )
    assert take(as_csv(ROW), heron.collection, when).entries_added == 0


def test_a_dry_run_reports_and_writes_nothing(heron, when):
    report = take(as_csv(ROW, MEASURED), heron.collection, when, dry_run=True)
    assert (report.entries_added, report.dry_run) == (2, True)
    assert not ServiceEvent.objects.exists() and not heron.due_items.exists()


def test_every_bad_row_is_told_with_its_column_and_nothing_is_written(heron, when):
    sheet = as_csv(
        ROW,
        ROW | {"registration": "HM 78"},
        ROW | {"on": "2026-02-30"},
        ROW | {"component": "brake-fluids", "price": "12,5O"},
        ROW | {"on": "2027-01-01"},
        MEASURED | {"value": "80"},
        MEASURED | {"unit": ""},
        ROW | {"action": ""},
        ROW | {"currency": "euros"},
        MEASURED | {"position": "fornt"},
    )
    lines = refusals(sheet, heron.collection, when)
    assert [line.split(":")[0] for line in lines] == [
        "row 3, registration",
        "row 4, on",
        "row 5, component",
        "row 5, price",
        "row 6, on",
        "row 7, value",
        "row 8, unit",
        "row 9, action",
        "row 10, currency",
        "row 11, position",
    ]
    assert "did you mean HM 77?" in lines[0]
    assert "'brake-pads front'" in lines[-1]
    assert not ServiceEvent.objects.exists()


def columns(lines):
    return [line.split(":")[0].removeprefix("row 2, ") for line in lines]


@pytest.mark.parametrize("value", ["x", "#REF!"])
def test_a_value_that_cant_be_read_is_told_once_and_not_called_empty(value, heron, when):
    assert columns(refusals(as_csv(MEASURED | {"value": value}), heron.collection, when)) == [
        "value"
    ]


def test_a_formula_is_told_once_and_not_called_empty(heron, when):
    (line,) = refusals(as_xlsx(MEASURED | {"value": "=5+1.25"}), heron.collection, when)
    assert line.startswith("row 2, value: holds a formula")


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        (
            {"component": "engine-oill", "action": "renw", "quantity": "lining"},
            ["action", "component", "quantity"],
        ),
        (
            {"component": "engine-oill", "action": "renw", "quantity": "lining", "value": "x"},
            ["action", "component", "quantity", "value"],
        ),
        (
            {"component": "engine-oill", "action": "renw", "quantity": "lining", "value": ""},
            ["action", "component", "quantity", "value"],
        ),
        (
            {"registration": "ZZ 1", "action": "renw", "unit": "cm"},
            ["action", "registration", "unit"],
        ),
        ({"registration": "ZZ 1", "position": "wherever"}, ["registration"]),
        (
            {"price": "x", "currency": "euros", "position": "fornt"},
            ["currency", "position", "price"],
        ),
        ({"on": "31.2.2026", "odometer": "123456", "value": "80"}, ["odometer", "on", "value"]),
        ({"component": "", "position": "wherever"}, ["component"]),
        ({"action": "", "value": "6,2,5"}, ["action", "value"]),
        ({"unit": "", "value": "80"}, ["unit", "value"]),
    ],
)
def test_every_wrong_cell_of_a_row_is_told_at_once_and_no_sound_one(said, wrong, heron, when):
    lines = refusals(as_csv(MEASURED | said), heron.collection, when)
    assert sorted(columns(lines)) == wrong


def test_a_move_with_a_wrong_cell_is_told_of_that_alone(heron, when):
    other = car(registration="HM 78", collection=heron.collection)
    moved = ROW | {"action": "move", "to_vehicle": other.registration, "price": "x"}
    assert columns(refusals(as_csv(moved), heron.collection, when)) == ["price"]
    gone = ROW | {"action": "move", "to_vehicle": "ZZ 1", "price": "x"}
    assert sorted(columns(refusals(as_csv(gone), heron.collection, when))) == [
        "price",
        "to_vehicle",
    ]


def test_a_bad_last_row_takes_back_what_other_cars_got(heron, when):
    other = car(registration="HM 78", collection=heron.collection)
    sheet = as_csv(ROW, ROW | {"registration": other.registration, "component": "tyre"})
    assert len(refusals(sheet, heron.collection, when)) == 1
    assert not ServiceEvent.objects.exists() and not HistoryLink.objects.exists()


def test_a_reading_below_an_earlier_one_names_the_row(heron, when):
    OdometerReadingFactory(vehicle=heron, on=datetime.date(2026, 4, 20), value=Decimal(48200))
    (line,) = refusals(as_csv(ROW), heron.collection, when)
    assert line.startswith("row 2, odometer: 48100.5 km")
    assert OdometerReading.objects.count() == 1


@pytest.mark.parametrize("mark", ["hm77", "HM-77", " hm 77 "])
def test_a_registration_is_known_however_it_is_spaced(mark, heron, when):
    assert take(as_csv(ROW | {"registration": mark}), heron.collection, when).entries_added == 1


def test_a_registration_that_may_be_two_cars_is_refused(heron, when):
    car(registration="HM-77", collection=heron.collection)
    (line,) = refusals(as_csv(ROW | {"registration": "hm77"}), heron.collection, when)
    assert "HM 77 or HM-77" in line


def test_a_car_of_another_club_is_as_unknown_as_none(heron, when):
    foreign = VehicleFactory(registration="ZZ 900")
    found = refusals(as_csv(ROW | {"registration": "ZZ 900"}), heron.collection, when)
    foreign.delete()
    assert found == refusals(as_csv(ROW | {"registration": "ZZ 900"}), heron.collection, when)


def test_a_keeper_imports_onto_their_own_car_only(heron, when):
    keeper = MemberFactory(collection=heron.collection, role="keeper")
    mine = car(registration="MY 1", collection=heron.collection, keeper=keeper)
    asked = when | {"by": keeper.account}
    assert take(as_csv(ROW | {"registration": "MY 1"}), heron.collection, asked).entries_added == 1
    assert "no car is registered 'HM 77'" in refusals(as_csv(ROW), heron.collection, asked)[0]
    assert ServiceEvent.objects.get().vehicle == mine


@pytest.mark.parametrize("role", ["viewer", None])
def test_who_may_not_record_finds_no_car(role, heron, when):
    account = AccountFactory()
    if role:
        MemberFactory(collection=heron.collection, account=account, role=role)
    lines = refusals(as_csv(ROW), heron.collection, when | {"by": account})
    assert lines[0].startswith("row 2, registration: no car")


def test_a_sheet_in_miles_is_refused_on_a_car_that_counts_kilometres(heron, when):
    (line,) = refusals(as_csv(ROW), heron.collection, when, odometer_unit="mi")
    assert line.startswith("row 2, odometer: the odometer of HM 77 counts km")


def test_a_day_of_a_month_alone_is_kept_as_stated(heron, when):
    take(as_csv(ROW | {"on": "2026-05"}), heron.collection, when)
    assert ServiceEvent.objects.get().on_stated == "2026-05"


def test_a_sheet_of_more_rows_than_are_taken_is_refused(heron, when, settings):
    settings.SPREADSHEET_ROW_LIMIT = 2
    lines = refusals(as_csv(ROW, ROW, ROW), heron.collection, when)
    assert "SPREADSHEET_ROW_LIMIT" in lines[0]


def test_a_file_of_more_bytes_than_are_taken_is_refused(heron, when, settings):
    settings.SPREADSHEET_FILE_LIMIT = 10
    assert "SPREADSHEET_FILE_LIMIT" in refusals(as_csv(ROW), heron.collection, when)[0]


def test_the_queries_do_not_grow_with_the_rows(when, django_assert_max_num_queries):
    one = car()
    rows = [ROW | {"on": f"2026-05-{day:02}", "odometer": ""} for day in range(1, 29)]
    with django_assert_max_num_queries(60):
        take(as_csv(*rows), one.collection, when)


def test_rows_of_many_cars_are_taken_in_chunks(when, monkeypatch):
    monkeypatch.setattr("maintenance.services.spreadsheet.import_entries.CHUNK", 2)
    club = CollectionFactory()
    marks = [car(registration=f"HM {n}", collection=club).registration for n in range(5)]
    sheet = as_csv(*(ROW | {"registration": mark} for mark in reversed(marks)))
    assert take(sheet, club, when).events_added == 5


def test_the_progress_ends_with_all_rows_in_both_phases(heron, when):
    from maintenance.services.spreadsheet.import_entries import import_entries
    from maintenance.services.spreadsheet.sheet import SheetOptions

    told = []
    import_entries(
        raw=as_csv(ROW, MEASURED),
        options=SheetOptions(),
        collection=heron.collection,
        progress=lambda *said: told.append(said),
        **when,
    )
    assert told[-1] == ("writing", 2, 2) and ("reading", 2, 2) in told


def test_nothing_is_imported_onto_a_car_that_has_left_the_club(heron, when):
    take(as_csv(ROW), heron.collection, when)
    leave(vehicle=heron, on=datetime.date(2026, 6, 1), how="sold", note="", **when)
    assert take(as_csv(ROW), heron.collection, when).already_there == 1
    (line,) = refusals(as_csv(ROW, MEASURED), heron.collection, when)
    assert line.startswith("row 3, registration: HM 77 has left the collection")
