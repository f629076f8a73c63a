"""Export entries as a sheet."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import IO, Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT, one_collection, vehicle_registered
from maintenance.models import Vehicle
from maintenance.services.refusals import Refused
from maintenance.services.spreadsheet.export_entries import WRITERS, exported_rows
from maintenance.services.spreadsheet.places import said


class Command(BaseCommand):
    help = (
        "Write a collection's entries as a sheet, one a row, in the columns that import_entries "
        "takes. The sheet has no column for costs of a visit, date codes of tyres, days of "
        "manufacture and parts carried over; export_history writes everything. Exit status 0, or "
        "2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--collection", metavar="NAME", help="the collection; needed if there are several"
        )
        parser.add_argument("--vehicle", metavar="REG", help="registration mark of one car")
        parser.add_argument(
            "-o",
            "--output",
            type=Path,
            metavar="FILE",
            help="a name that ends in .csv or .xlsx; default CSV on standard output",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        collection = one_collection(options["collection"])
        vehicles = Vehicle.objects.filter(collection=collection)
        if options["vehicle"]:
            vehicles = vehicles.filter(pk=vehicle_registered(options["vehicle"], [collection]).pk)
        output: Path | None = options["output"]
        if output is None:
            WRITERS["csv"](exported_rows(vehicles), _standard_output())
            return
        write = WRITERS.get(output.suffix.removeprefix(".").lower())
        if write is None:
            raise CommandError(
                f"{output}: the name must end in .csv or .xlsx", returncode=BAD_INPUT
            )
        try:
            with output.open("wb") as file:
                count = write(exported_rows(vehicles), file)
        except Refused as refused:
            text = "; ".join(map(said, refused.problems))
            raise CommandError(f"{output}: {text}", returncode=BAD_INPUT) from refused
        except OSError as problem:
            raise CommandError(
                f"{output}: cannot be written: {problem.strerror}", returncode=BAD_INPUT
            ) from problem
        self.stdout.write(f"{output}: {count} entries of {collection}")


def _standard_output() -> IO[bytes]:
    return sys.stdout.buffer
