"""Export cars with their history as a history file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import (
    BAD_INPUT,
    collections_named,
    vehicle_registered,
)
from maintenance.services.history_file.export_history import as_text, export_history


class Command(BaseCommand):
    help = (
        "Print a collection with all its history as JSON, in the form that import_history takes. "
        "Exit status 0, or 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--collection", metavar="NAME", help="the collection; needed if there are several"
        )
        parser.add_argument("--vehicle", metavar="REG", help="registration mark of one car")
        parser.add_argument(
            "-o", "--output", type=Path, metavar="FILE", help="write here; default standard output"
        )

        parser.add_argument(
            "--without-heads",
            action="store_true",
            help="leave out the head of each car's chain, which no other database has",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        collections = collections_named(options["collection"])
        vehicles = None
        if options["vehicle"]:
            vehicles = [vehicle_registered(options["vehicle"], collections)]
            collections = [vehicles[0].collection]
        if len(collections) != 1:
            names = ", ".join(repr(collection.name) for collection in collections) or "none"
            raise CommandError(
                f"--collection: name the one to export; there are: {names}", returncode=BAD_INPUT
            )
        document = export_history(
            collection=collections[0],
            vehicles=vehicles,
            with_heads=not options["without_heads"],
        )
        text = as_text(document)
        output: Path | None = options["output"]
        if output is None:
            self.stdout.write(text, ending="")
            return
        try:
            output.write_text(text, encoding="utf-8")
        except OSError as problem:
            raise CommandError(
                f"{output}: cannot be written: {problem.strerror}", returncode=BAD_INPUT
            ) from problem
