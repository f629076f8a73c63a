import io
import json
import sys

import pytest
from django.core.management import CommandError, call_command

from maintenance.models import ServiceEvent
from tests.factories import CollectionFactory
from tests.services.spreadsheet.sheets import MEASURED, ROW, as_csv, as_xlsx, car

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(tmp_path):
    """Write bytes to a file and return its path."""

    def written(raw, name="entries.csv"):
        path = tmp_path / name
        path.write_bytes(raw)
        return str(path)

    return written


def run(*arguments, command="import_entries"):
    out, err = io.StringIO(), io.StringIO()
    call_command(command, *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def refused(*arguments):
    err = io.StringIO()
    with pytest.raises(CommandError) as refusal:
        call_command("import_entries", *arguments, stdout=io.StringIO(), stderr=err)
    assert not ServiceEvent.objects.exists()
    return refusal.value, err.getvalue().splitlines()


@pytest.mark.parametrize("written", [as_csv, as_xlsx])
def test_the_summary_says_what_was_added(written, sheet):
    car()
    out, _ = run(sheet(written(ROW, MEASURED)))
    assert out.endswith("of 2 rows 2 entries in 1 service events added, 0 already there\n")


def test_a_dry_run_says_so_and_adds_nothing(sheet):
    car()
    out, _ = run(sheet(as_csv(ROW)), "--dry-run")
    assert "1 entries in 1 service events would be added" in out
    assert not ServiceEvent.objects.exists()


def test_every_error_is_a_line_and_the_status_is_2(sheet):
    car()
    raw = as_csv(ROW | {"on": "3/4/2026"}, ROW | {"price": "much"})
    error, lines = refused(sheet(raw))
    assert [line.split(":")[0] for line in lines] == ["row 2, on", "row 3, price"]
    assert (error.returncode, str(error)) == (2, "entries.csv: 2 errors; nothing was imported")


def test_the_order_of_dates_is_stated_on_the_command_line(sheet):
    car()
    run(sheet(as_csv(ROW | {"on": "3/4/2026"})), "--date-order", "dmy")
    assert ServiceEvent.objects.get().on_stated == "2026-04-03"


def test_headings_are_matched_by_pairs_or_by_a_saved_file(sheet):
    car()
    row = {"Wagen": "HM 77", "Tag": "2026-05-01", "Teil": "brake-fluid", "Was": "renew"}
    columns = dict(zip(row, ["registration", "on", "component", "action"], strict=True))
    pairs = ",".join("=".join(pair) for pair in columns.items())
    out, _ = run(sheet(as_csv(row)), "--columns", pairs)
    assert "columns taken: 'Wagen' as registration, 'Tag' as on" in out
    saved = sheet(json.dumps(columns).encode(), "columns.json")
    assert "1 already there" in run(sheet(as_csv(row)), "--columns", saved)[0]


@pytest.mark.parametrize("saved", [b"[]", b"{", b'{"Tag": 5}', b"\xff"])
def test_a_saved_mapping_that_is_none_is_refused(saved, sheet):
    car()
    error, _ = refused(sheet(as_csv(ROW)), "--columns", sheet(saved, "columns.json"))
    assert (error.returncode, "--columns" in str(error)) == (2, True)


def test_a_column_that_is_not_taken_in_is_named(sheet):
    car()
    _, err = run(sheet(as_csv(ROW | {"Wetter": "rain"})))
    assert err == "Note: the column 'Wetter' is not taken in\n"


@pytest.mark.parametrize("raw", [b"", b"\xff", b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"\x00" * 9])
def test_a_file_that_is_no_sheet_is_refused_with_status_2(raw, sheet):
    car()
    error, lines = refused(sheet(raw))
    assert (error.returncode, len(lines)) == (2, 1)


def test_a_file_that_is_not_there_is_refused_with_status_2(tmp_path):
    car()
    error, _ = refused(str(tmp_path / "absent.csv"))
    assert (error.returncode, "cannot be read" in str(error)) == (2, True)


def test_one_of_several_collections_has_to_be_named(sheet):
    one = car()
    CollectionFactory()
    assert refused(sheet(as_csv(ROW)))[0].returncode == 2
    run(sheet(as_csv(ROW)), "--collection", one.collection.name)
    assert ServiceEvent.objects.exists()


@pytest.mark.parametrize("name", ["out.csv", "out.xlsx"])
def test_what_is_exported_imports_again_and_adds_nothing(name, sheet, tmp_path):
    car()
    run(sheet(as_csv(ROW, MEASURED)))
    out, _ = run("-o", str(tmp_path / name), command="export_entries")
    assert out.endswith(f"{name}: 2 entries of {ServiceEvent.objects.get().collection}\n")
    assert "2 already there" in run(str(tmp_path / name))[0]


def test_without_a_name_the_sheet_goes_to_standard_output(sheet, capsysbinary, monkeypatch):
    car()
    run(sheet(as_csv(ROW)))
    call_command("export_entries", "--vehicle", "HM 77")
    sys.stdout.flush()
    assert capsysbinary.readouterr().out.count(b"\r\n") == 2


def test_another_ending_is_refused_with_status_2(tmp_path):
    car()
    with pytest.raises(CommandError) as refusal:
        run("-o", str(tmp_path / "out.ods"), command="export_entries")
    assert refusal.value.returncode == 2
