"""Small sheets for tests, and a car that they are about."""

import csv
import io

from openpyxl import Workbook

from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.import_entries import import_entries
from maintenance.services.spreadsheet.places import said
from maintenance.services.spreadsheet.sheet import SheetOptions
from tests.factories import ComponentFactory, VehicleFactory

ROW = {
    "registration": "HM 77",
    "on": "2026-05-01",
    "odometer": "48100.5",
    "component": "brake-fluid",
    "action": "renew",
    "part_number": "DOT 4",
    "price": "12.50",
    "currency": "EUR",
    "done_by": "Mere Lane Garage",
}
MEASURED = {
    "registration": "HM 77",
    "on": "2026-05-01",
    "odometer": "48100.5",
    "component": "brake-pads",
    "position": "front",
    "action": "measure",
    "quantity": "lining_thickness",
    "value": "6.25",
    "unit": "mm",
    "done_by": "Mere Lane Garage",
}


def car(**said_of_it):
    """A car with brake fluid and two sets of pads."""
    made = VehicleFactory(**{"registration": "HM 77"} | said_of_it)
    for kind, position in (("brake-fluid", ""), ("brake-pads", "front"), ("brake-pads", "rear")):
        ComponentFactory(vehicle=made, kind=kind, position=position)
    return made


def as_csv(*rows, encoding="utf-8", delimiter=","):
    stream = io.StringIO(newline="")
    headings = list(dict.fromkeys(name for row in rows for name in row))
    writer = csv.DictWriter(stream, headings, restval="", delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue().encode(encoding)


def as_xlsx(*rows):
    book = Workbook()
    headings = list(dict.fromkeys(name for row in rows for name in row))
    book.active.append(headings)
    for row in rows:
        book.active.append([row.get(name) for name in headings])
    return saved(book)


def saved(book):
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def take(raw, collection, when, *, dry_run=False, **options):
    """Import a sheet."""
    return import_entries(
        raw=raw, options=SheetOptions(**options), collection=collection, dry_run=dry_run, **when
    )


def refusals(*asked, **options):
    """Return what an import tells, line by line."""
    try:
        take(*asked, **options)
    except Refused as refused:
        return [said(problem) for problem in refused.problems]
    raise AssertionError("the sheet was taken")
