"""Import a sheet of entries: all of it or nothing."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, NoReturn, cast

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from maintenance.management.arguments import BAD_INPUT, one_collection
from maintenance.queries.today import this_instant, today_in
from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.cells import DATE_ORDERS
from maintenance.services.spreadsheet.csv_rows import STATED
from maintenance.services.spreadsheet.import_entries import EntriesReport, import_entries
from maintenance.services.spreadsheet.places import COLUMNS, said
from maintenance.services.spreadsheet.sheet import SheetOptions


class Command(BaseCommand):
    help = (
        "Import entries from a sheet (CSV or XLSX), one a row, on cars that are there. All or "
        "nothing: every bad row is told at once, with its number, column and what to do. The same "
        "file twice adds nothing. Rows of one car, day, odometer reading, workshop and visit "
        "become one service event; a move says in to, and for another car in to_vehicle, where "
        f"the part went. Columns: {', '.join(COLUMNS)}. Exit status 0, or 2 for a file that can't "
        "be used."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="the sheet")
        parser.add_argument(
            "--dry-run", action="store_true", help="check everything and say what would be added"
        )
        parser.add_argument(
            "--collection", metavar="NAME", help="the collection; needed if there are several"
        )
        parser.add_argument(
            "--columns",
            metavar="MAP",
            help="your headings and our columns, as 'Datum=on,Werk=action', or a JSON file of "
            'them: {"Datum": "on"}; a heading with nothing after it is left out',
        )
        parser.add_argument(
            "--date-order",
            choices=DATE_ORDERS,
            help="of dates such as 3/4/2019, which are refused without it",
        )
        parser.add_argument(
            "--encoding", choices=STATED, help="of a CSV file that is neither UTF-8 nor UTF-16"
        )
        parser.add_argument(
            "--vehicle-unit",
            choices=("km", "mi"),
            help="what the column odometer counts; a car that counts otherwise is refused",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        collection = one_collection(options["collection"])
        sheet = SheetOptions(
            columns=_mapping(options["columns"]),
            date_order=options["date_order"],
            encoding=options["encoding"],
            odometer_unit=options["vehicle_unit"],
        )
        raw = _content(path)
        console = Console(file=sys.stderr)
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
        # A bar is for a person watching; a log would only fill up.
        hidden = not console.is_terminal
        try:
            with Progress(*columns, TimeRemainingColumn(), console=console, disable=hidden) as bar:
                task = bar.add_task("reading", total=None)
                report = import_entries(
                    raw=raw,
                    options=sheet,
                    collection=collection,
                    by=None,
                    at=this_instant(),
                    today=today_in(collection),
                    dry_run=options["dry_run"],
                    progress=lambda phase, done, total: bar.update(
                        task, description=phase, completed=done, total=total
                    ),
                )
        except Refused as refused:
            self._refuse(path, refused)
        self._print(report)

    def _refuse(self, path: Path, refused: Refused) -> NoReturn:
        for problem in refused.problems:
            self.stderr.write(said(problem))
        count = len(refused.problems)
        errors = "1 error" if count == 1 else f"{count} errors"
        raise CommandError(
            f"{path.name}: {errors}; nothing was imported", returncode=BAD_INPUT
        ) from refused

    def _print(self, report: EntriesReport) -> None:
        for warning in report.warnings:
            self.stderr.write(f"Note: {warning}")
        renamed = [f"{name!r} as {ours}" for ours, name in report.headings.items() if name != ours]
        if renamed:
            self.stdout.write(f"columns taken: {', '.join(renamed)}")
        added = "would be added" if report.dry_run else "added"
        self.stdout.write(
            f"{report.collection}: of {report.rows} rows {report.entries_added} entries in "
            f"{report.events_added} service events {added}, {report.already_there} already there"
        )


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            # One byte more tells a file that is too large, without reading the rest of it.
            return file.read(settings.SPREADSHEET_FILE_LIMIT + 1)
    except OSError as problem:
        raise CommandError(
            f"{path}: cannot be read: {problem.strerror}", returncode=BAD_INPUT
        ) from problem


def _mapping(text: str | None) -> dict[str, str]:
    """Return a mapping of headings given as pairs, or kept in a JSON file."""
    if not text:
        return {}
    if text.endswith(".json"):
        return _kept(Path(text))
    pairs = [pair.partition("=") for pair in text.split(",")]
    if any(not equals for _, equals, _ in pairs):
        raise CommandError(
            f"--columns: {text!r} is no mapping; write it as 'Datum=on,Werk=action'",
            returncode=BAD_INPUT,
        )
    return {heading.strip(): column.strip() for heading, _, column in pairs}


def _kept(path: Path) -> dict[str, str]:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise CommandError(
            f"--columns: {path} cannot be read: {problem}", returncode=BAD_INPUT
        ) from problem
    if not isinstance(found, dict) or not all(isinstance(each, str) for each in found.values()):
        raise CommandError(
            f'--columns: {path} must be one JSON object such as {{"Datum": "on"}}',
            returncode=BAD_INPUT,
        )
    return cast(dict[str, str], found)
