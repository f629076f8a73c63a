"""What a sheet may come as, and what is refused before it is read."""

import datetime
import io
import random
import tracemalloc
import zipfile

import pytest
from openpyxl import Workbook

from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet import workbook
from maintenance.services.spreadsheet.sheet import SheetOptions, open_sheet
from tests.services.spreadsheet.sheets import MEASURED, ROW, as_csv, as_xlsx, car, refusals, saved

NOTED = ROW | {"note": "Kühler dicht – geprüft"}


def rows(raw, **options):
    return list(open_sheet(raw, SheetOptions(**options)).rows)


def refusal(raw, **options):
    with pytest.raises(Refused) as refused:
        rows(raw, **options)
    (problem,) = refused.value.problems
    return problem.message


def worksheet(inside, *, name="xl/worksheets/sheet1.xml", compression=zipfile.ZIP_DEFLATED):
    """A workbook whose sheet, or another part, is replaced by these bytes."""
    made = io.BytesIO()
    source = zipfile.ZipFile(io.BytesIO(as_xlsx(ROW)))
    with zipfile.ZipFile(made, "w", compression) as archive:
        for part in source.namelist():
            archive.writestr(part, inside if part == name else source.read(part))
        if name not in source.namelist():
            archive.writestr(name, inside)
    return made.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_is_read_in_every_certain_encoding_with_every_delimiter(encoding, delimiter):
    ((number, row),) = rows(as_csv(NOTED, encoding=encoding, delimiter=delimiter))
    assert (number, row) == (2, NOTED)


def test_windows_1252_is_read_where_it_is_stated():
    raw = as_csv(NOTED, encoding="windows-1252")
    assert rows(raw, encoding="windows-1252") == [(2, NOTED)]
    assert "state the encoding windows-1252" in refusal(raw)


def test_utf_8_stated_as_windows_1252_is_refused():
    assert "line 2 is UTF-8" in refusal(as_csv(NOTED), encoding="windows-1252")


def test_a_file_that_mixes_encodings_is_refused_with_the_line():
    raw = as_csv(NOTED) + as_csv(NOTED, encoding="windows-1252").splitlines()[1]
    message = refusal(raw)
    assert "(line 3)" in message and "mixes encodings" in message


def test_utf_16_without_its_mark_is_refused():
    assert "NUL" in refusal(as_csv(ROW).decode().encode("utf-16-le"))


def test_quotes_that_do_not_close_are_refused():
    assert "quotes" in refusal(b'registration,on,component,action\n"HM 77')


def test_empty_rows_are_passed_over_and_the_numbers_stay():
    raw = as_csv(ROW, {}, ROW)
    assert [number for number, _ in rows(raw)] == [2, 4]


def test_a_workbook_is_read_with_its_own_types():
    row = ROW | {"on": datetime.datetime(2026, 5, 1), "odometer": 48100.5, "price": 12}
    ((_, found),) = rows(as_xlsx(row))
    assert (found["on"], found["odometer"], found["price"]) == (
        "2026-05-01 00:00:00",
        "48100.5",
        "12",
    )


@pytest.mark.parametrize(("value", "stated"), [(46143, "2026-05-01 00:00:00"), (2019, "2019")])
def test_a_plain_number_in_the_column_of_days_is_a_serial_date_or_a_year(value, stated):
    ((_, found),) = rows(as_xlsx(ROW | {"on": value}))
    assert found["on"] == stated


def test_serial_dates_count_from_1904_where_the_workbook_does():
    book = Workbook()
    book.epoch = datetime.datetime(1904, 1, 1)
    book.active.append(["registration", "on", "component", "action"])
    book.active.append(["HM 77", 44681, "brake-fluid", "renew"])
    ((_, found),) = rows(saved(book))
    assert found["on"] == "2026-05-01 00:00:00"


@pytest.mark.django_db
def test_a_formula_is_refused_with_its_row_and_column(when):
    lines = refusals(as_xlsx(ROW | {"price": "=6*2"}), car().collection, when)
    assert lines == ["row 2, price: holds a formula; copy the column and paste it as values"]


def test_an_older_workbook_is_refused_with_what_to_do():
    assert "save it as .xlsx" in refusal(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))


def test_an_archive_that_is_no_workbook_is_refused():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("letter.txt", "Dear sirs")
    assert "can't be read" in refusal(made.getvalue())


def test_a_bomb_is_refused_by_its_ratio_before_it_is_unpacked():
    raw = worksheet(b"<worksheet>" + b" " * 40 * 1024 * 1024)
    tracemalloc.start()
    try:
        message = refusal(raw)
        assert tracemalloc.get_traced_memory()[1] < 4 * 1024 * 1024
    finally:
        tracemalloc.stop()
    assert "times its size" in message


def test_a_workbook_that_unpacks_to_too_much_is_refused(monkeypatch):
    monkeypatch.setattr(workbook, "MOST_UNPACKED", 100_000)
    raw = worksheet(b" " * 200_000, compression=zipfile.ZIP_STORED)
    assert "unpacks to" in refusal(raw)


def test_a_part_beside_the_sheet_may_not_be_huge():
    filling = random.Random(1).randbytes(5 * 1024 * 1024)
    assert "xl/styles.xml" in refusal(worksheet(filling, name="xl/styles.xml"))


@pytest.mark.parametrize(
    "name", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "_rels/.rels", "xl/styles.xml"]
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_document_type_is_refused_wherever_it_stands(name, encoding):
    trick = (
        '<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a SYSTEM "file:///etc/hostname">]><w>&a;</w>'
    )
    message = refusal(worksheet(trick.encode(encoding), name=name))
    assert message == f"{name} of the workbook declares a document type, which no workbook needs"


SHEET = (
    '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    '<row r="1">{headings}</row>{rows}</sheetData></worksheet>'
)
HEADINGS = "".join(
    f'<c r="{place}1" t="inlineStr"><is><t>{name}</t></is></c>'
    for place, name in zip("ABCD", ["registration", "on", "component", "action"], strict=True)
)


def test_a_row_that_claims_to_be_the_billionth_is_refused(monkeypatch):
    monkeypatch.setattr(workbook, "MOST_ROWS", 10_000)
    row = '<row r="1000000000"><c r="A1000000000"><v>1</v></c></row>'
    raw = worksheet(SHEET.format(headings=HEADINGS, rows=row).encode())
    assert "more than a sheet can have" in refusal(raw)


def test_a_sheet_of_ten_million_cells_is_refused_in_bounded_memory(settings):
    settings.SPREADSHEET_FILE_LIMIT = 500 * 1024 * 1024
    dice = random.Random(1)
    cells = "".join(f"<c><v>{dice.randrange(10**6)}</v></c>" for _ in range(20_000))
    rows_of_it = f"<row>{cells}</row>" * 500
    inside = SHEET.format(headings=HEADINGS, rows=rows_of_it).encode()
    raw = worksheet(inside, compression=zipfile.ZIP_STORED)
    tracemalloc.start()
    try:
        message = refusal(raw)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert "MiB" in message and peak < 64 * 1024 * 1024


def test_more_columns_than_any_list_has_are_refused():
    raw = as_csv({f"column {number}": "x" for number in range(101)})
    assert "more than the 100 columns" in refusal(raw)


def test_a_sheet_without_headings_is_refused():
    assert "headings" in refusal(b"")
    assert "headings" in refusal(b"\n\n")


@pytest.mark.parametrize("heading", ["_x0000_", "note_xD800_"])
def test_a_heading_that_is_no_text_is_refused(heading):
    assert "no text" in refusal(as_xlsx({**ROW, heading: "x"}))


def test_only_the_first_sheet_is_read():
    book = Workbook()
    for name, value in (("first", ROW), ("second", MEASURED)):
        sheet = book.active if name == "first" else book.create_sheet(name)
        sheet.append(list(value))
        sheet.append(list(value.values()))
    assert rows(saved(book)) == [(2, ROW)]
