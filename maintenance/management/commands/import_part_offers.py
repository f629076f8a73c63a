"""Take in a price list of parts."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT, collections_named
from maintenance.services.part_offers import COLUMNS, import_offers
from maintenance.services.refusals import Refused

LARGEST_BYTES = 5 * 1024 * 1024


class Command(BaseCommand):
    help = (
        "Take in a price list of parts: a CSV file with the columns "
        f"{', '.join(COLUMNS)}. All or nothing; an offer that is there already is brought up to "
        "the list. Exit status 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--collection", metavar="NAME", help="needed where there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        found = collections_named(options["collection"])
        if len(found) != 1:
            known = ", ".join(collection.name for collection in found) or "none yet"
            raise CommandError(
                f"--collection: name the one that the offers are for; there are: {known}",
                returncode=BAD_INPUT,
            )
        try:
            changed = import_offers(collection=found[0], text=_text(options["file"]))
        except Refused as refused:
            lines = "\n".join(f"  {problem}" for problem in refused.problems)
            raise CommandError(
                f"{options['file']}: nothing was taken in:\n{lines}", returncode=BAD_INPUT
            ) from refused
        self.stdout.write(f"{changed} offers are new or changed.")


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise CommandError(f"{path}: is larger than 5 MB", returncode=BAD_INPUT)
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as wrong:
        raise CommandError(f"{path}: can't be read: {wrong}", returncode=BAD_INPUT) from wrong
