"""Import a history file: all of it or nothing."""

import sys
import zoneinfo
from argparse import ArgumentParser
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table

from maintenance.management.arguments import BAD_INPUT
from maintenance.models import Collection
from maintenance.queries.today import this_instant, today_in
from maintenance.services.history_file.import_history import ImportReport, import_history
from maintenance.services.history_file.read import read_with_oddities
from maintenance.services.refusals import Problem, Refused

WIDTH = 100
_NAMES = {"lay_ups": "lay-ups", "specification": "lines of the specification sheet"}


class Command(BaseCommand):
    help = (
        "Import cars with their history from a JSON file (fixtures/history.schema.json). All or "
        "nothing: every error is told at once, one a line, with the place and what to do. The "
        "same file twice adds nothing. Exit status 0, or 2 for a file that can't be used."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE", help="the history file")
        parser.add_argument(
            "--dry-run", action="store_true", help="check everything and say what would be added"
        )
        parser.add_argument(
            "--collection",
            metavar="NAME",
            help="into this collection, made if need be; default the one that the file names",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            document, oddities = self._document(path, options["collection"])
            if oddities:
                raise Refused([*oddities, *self._further_problems(document, oddities)])
            report = self._import(document, dry_run=options["dry_run"])
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            count = len(refused.problems)
            errors = "1 error" if count == 1 else f"{count} errors"
            raise CommandError(
                f"{path.name}: {errors}; nothing was imported", returncode=BAD_INPUT
            ) from refused
        for warning in report.warnings:
            self.stderr.write(f"Note: {warning}")
        self._print(report)

    def _further_problems(self, document: dict[str, Any], oddities: list[Problem]) -> list[Problem]:
        """Return what else is wrong with a file that is refused in any case."""
        try:
            self._import(document, dry_run=True)
        except Refused as refused:
            told = {problem.pointer for problem in oddities}
            return [problem for problem in refused.problems if problem.pointer not in told]
        return []

    def _document(self, path: Path, collection: str | None) -> tuple[dict[str, Any], list[Problem]]:
        limit = settings.HISTORY_FILE_LIMIT
        try:
            with path.open("rb") as file:
                # One byte more tells a file that is too large, without reading the rest of it.
                raw = file.read(limit + 1)
        except OSError as problem:
            raise CommandError(
                f"{path}: cannot be read: {problem.strerror}", returncode=BAD_INPUT
            ) from problem
        document, oddities = read_with_oddities(raw, limit=limit)
        described = document.get("collection")
        if collection is not None and isinstance(described, dict | None):
            document["collection"] = {**(described or {}), "name": collection}
        return document, oddities

    def _import(self, document: dict[str, Any], *, dry_run: bool) -> ImportReport:
        vehicles = document.get("vehicles")
        total = len(vehicles) if isinstance(vehicles, list) else 0
        columns = (TextColumn("importing"), BarColumn(), MofNCompleteColumn(), TextColumn("cars"))
        console = Console(file=sys.stderr)
        # A bar is for a person watching; a log would only fill up.
        with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
            task = progress.add_task("import", total=total)
            return import_history(
                document=document,
                by=None,
                at=this_instant(),
                today=today_in(_described(document)),
                dry_run=dry_run,
                progress=lambda cars: progress.advance(task, cars),
            )

    def _print(self, report: ImportReport) -> None:
        added = "would be added" if report.dry_run else "added"
        table = Table(title=f"{report.collection}: what {added}", title_justify="left")
        table.add_column("")
        table.add_column(added, justify="right")
        table.add_column("already there", justify="right")
        for noun in sorted({*report.added, *report.already_there}):
            new, there = report.added[noun], report.already_there[noun]
            if new or there:
                table.add_row(_NAMES.get(noun, noun.replace("_", " ")), str(new), str(there))
        console = Console(file=cast(IO[str], self.stdout), width=WIDTH)
        console.print(table)


def _described(document: dict[str, Any]) -> Collection:
    """Return a collection in whose time zone today is to be read; UTC if the file's is none."""
    described = document.get("collection")
    row: dict[str, Any] = described if isinstance(described, dict) else {}
    name, zone = row.get("name"), row.get("time_zone")
    stored = Collection.objects.filter(name=name).first() if isinstance(name, str) else None
    if stored is not None:
        return stored
    if isinstance(zone, str) and zone in zoneinfo.available_timezones():
        return Collection(time_zone=zone)
    return Collection(time_zone="UTC")
