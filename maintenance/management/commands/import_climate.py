"""Import what was measured of a store's air."""

import datetime
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from maintenance.management.arguments import BAD_INPUT, collections_named, day, vehicle_registered
from maintenance.models import Collection
from maintenance.queries.today import today_in
from maintenance.services.refusals import Refused
from maintenance.services.store_climates import import_climate, keep_in_store


class Command(BaseCommand):
    help = (
        "Import a CSV file of date, °C and %RH as the climate of a store. Lay-ups of the cars kept "
        "there take it in place of their storage grade; no factor falls below 1. All or nothing; "
        "importing the same file twice adds nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--store", required=True, metavar="NAME", help="what you call it")
        parser.add_argument("--outdoors", action="store_true", help="sun, rain and ozone reach it")
        parser.add_argument(
            "--vehicle", action="append", default=[], metavar="REG",
            help="a car that is laid up there; may be repeated",
        )  # fmt: skip
        parser.add_argument(
            "--since", type=day, metavar="DATE",
            help="lay-ups of these cars begun from this day on; default the first reading",
        )  # fmt: skip
        parser.add_argument("--collection", metavar="NAME")

    def handle(self, *args: Any, **options: Any) -> None:
        collection = _one(options["collection"])
        try:
            text = options["file"].read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as wrong:
            raise CommandError(f"FILE: {wrong}", returncode=BAD_INPUT) from wrong
        cars = [vehicle_registered(mark, [collection]) for mark in options["vehicle"]]
        try:
            added = self._import(collection, text, cars, options)
        except Refused as refused:
            lines = "\n".join(str(problem) for problem in refused.problems)
            raise CommandError(lines, returncode=BAD_INPUT) from refused
        self.stdout.write(f"{options['store']}: {added} readings added")

    @transaction.atomic
    def _import(
        self, collection: Collection, text: str, cars: list[Any], options: dict[str, Any]
    ) -> int:
        today = today_in(collection)
        record, added = import_climate(
            collection=collection,
            store=options["store"],
            text=text,
            outdoors=options["outdoors"],
            today=today,
        )
        first = datetime.date(1970, 1, 1) + datetime.timedelta(days=record.days[0])
        for car in cars:
            keep_in_store(
                vehicle=car,
                store=record,
                from_on=options["since"] or first,
                to_on=None,
                today=today,
            )
        return added


def _one(name: str | None) -> Collection:
    found = collections_named(name)
    if len(found) != 1:
        raise CommandError(
            f"--collection: name one of the {len(found)} collections", returncode=BAD_INPUT
        )
    return found[0]
