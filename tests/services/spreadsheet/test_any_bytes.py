"""Whatever bytes are sent as a sheet: they are read or refused, and never stumbled over."""

import io
import zipfile

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.cells import read_cells
from maintenance.services.spreadsheet.csv_rows import csv_rows
from maintenance.services.spreadsheet.export_entries import write_csv, write_xlsx
from maintenance.services.spreadsheet.ooxml_text import escaped, unescaped
from maintenance.services.spreadsheet.places import COLUMNS, REQUIRED
from maintenance.services.spreadsheet.sheet import SheetOptions, open_sheet
from maintenance.services.spreadsheet.visits import cells_of, entry_of, visits
from maintenance.services.spreadsheet.workbook import FORMULA
from tests.services.spreadsheet.sheets import MEASURED, ROW, as_csv, as_xlsx, car, take

WORKBOOK = as_xlsx(ROW, MEASURED)
HEADINGS = (",".join(COLUMNS) + "\n").encode()
OPTIONS = st.builds(
    SheetOptions,
    date_order=st.sampled_from([None, "dmy", "mdy", "ymd"]),
    encoding=st.sampled_from([None, "windows-1252"]),
    columns=st.just({}) | st.dictionaries(st.sampled_from(COLUMNS), st.sampled_from(COLUMNS)),
)
CELLS = (
    st.text(max_size=20)
    | st.sampled_from(["move", "tyre", "tyre front left", "HM 77", "2"])
    | st.sampled_from(["", "2019-05-01", "3/4/2019", "1e400", "-0", "NaN", "9" * 50, FORMULA])
    | st.decimals(allow_nan=True).map(str)
)


def read(raw, options):
    """Read a sheet to the end, as far as rows go before they meet a car."""
    try:
        for number, given_cells in open_sheet(raw, options).rows:
            cells, problems = read_cells(number, given_cells, options.date_order)
            if not problems:
                visits([(number, entry_of(cells))])[0].event()
    except Refused as refused:
        assert all(problem.message for problem in refused.problems)


@given(raw=st.binary(max_size=300), options=OPTIONS)
def test_any_bytes_are_read_or_refused(raw, options):
    read(raw, options)
    read(HEADINGS + raw, options)
    read(b"PK\x03\x04" + raw, options)


@given(rows=st.lists(st.lists(CELLS, max_size=len(COLUMNS)), max_size=4), options=OPTIONS)
def test_any_cells_are_read_or_refused(rows, options):
    lines = [dict(zip(COLUMNS, cells, strict=False)) for cells in rows]
    read(
        as_csv(dict.fromkeys(COLUMNS, ""), *lines, encoding="utf-8") if _sendable(lines) else b"",
        options,
    )


@settings(deadline=None)
@given(place=st.integers(0, len(WORKBOOK) - 1), put=st.binary(min_size=1, max_size=8))
def test_a_workbook_with_any_bytes_changed_is_read_or_refused(place, put):
    read(WORKBOOK[:place] + put + WORKBOOK[place + len(put) :], SheetOptions())


@settings(deadline=None)
@given(
    part=st.sampled_from(zipfile.ZipFile(io.BytesIO(WORKBOOK)).namelist()),
    place=st.floats(0, 1),
    put=st.binary(max_size=12) | st.sampled_from([b"<", b"<c>", b"</row>", b'"', b"&x;", b"-1"]),
)
def test_a_workbook_with_any_part_garbled_is_read_or_refused(part, place, put):
    made = io.BytesIO()
    source = zipfile.ZipFile(io.BytesIO(WORKBOOK))
    with zipfile.ZipFile(made, "w") as archive:
        for name in source.namelist():
            inside = source.read(name)
            at = int(place * len(inside))
            archive.writestr(name, inside[:at] + put + inside[at:] if name == part else inside)
    read(made.getvalue(), SheetOptions())


@pytest.mark.django_db
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(rows=st.lists(st.dictionaries(st.sampled_from(COLUMNS), CELLS), max_size=4))
def test_an_import_of_any_cells_writes_all_or_refuses(rows, when, _car_of_any_row):
    lines = [ROW | row for row in rows if _sendable([row])]
    try:
        report = take(as_csv(ROW, *lines), _car_of_any_row.collection, when, dry_run=True)
        assert report.rows == len(lines) + 1
    except Refused as refused:
        assert refused.problems


@pytest.fixture
def _car_of_any_row(db):
    return car()


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)


@example(text="_x0000\x1f")
@given(text=TEXTS | st.text(alphabet="_x0041fF\r\x01", max_size=14))
def test_any_text_survives_a_cell_of_a_workbook(text):
    assert unescaped(escaped(text)) == text


@settings(deadline=None, max_examples=50)
@given(
    rows=st.lists(st.fixed_dictionaries({name: TEXTS for name in ("supplier", "note")}), max_size=3)
)
def test_any_text_survives_both_forms_of_the_sheet(rows):
    full = [dict.fromkeys(COLUMNS, "") | ROW | row for row in rows]
    for write in (write_csv, write_xlsx):
        stream = io.BytesIO()
        write(full, stream)
        found = [row for _, row in open_sheet(stream.getvalue(), SheetOptions()).rows]
        assert [(row["supplier"], row["note"]) for row in found] == [
            (row["supplier"], row["note"]) for row in full
        ]


def test_what_a_row_says_is_written_as_it_is_read():
    cells, problems = read_cells(2, dict.fromkeys(COLUMNS, "") | MEASURED, None)
    assert not problems
    assert cells_of(entry_of(cells)).items() <= {**cells, "odometer": "48100.5"}.items()


def test_the_needed_columns_are_columns():
    assert set(REQUIRED) < set(COLUMNS)


def _sendable(rows):
    """Say whether a CSV file can be written of the rows at all."""
    return not any(
        "\ud800" <= sign <= "\udfff" for row in rows for cell in row.values() for sign in cell
    )


def test_a_byte_order_mark_alone_is_an_empty_sheet():
    assert list(csv_rows(b"\xef\xbb\xbf", encoding=None)) == []
