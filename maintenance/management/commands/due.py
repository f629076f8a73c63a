"""Print what falls due, and when."""

import csv
import datetime
import json
import sys
from argparse import ArgumentParser
from typing import IO, Any, cast

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.table import Table
from rich.text import Text

from maintenance.catalogue.load import catalogue
from maintenance.management.arguments import collections_named, day, vehicle_registered
from maintenance.management.words import IN_STORE
from maintenance.models import Collection, DueItem, Vehicle
from maintenance.queries.due_answers import DANGEROUS, due_on_another_day
from maintenance.queries.due_items import as_dict, due_list
from maintenance.queries.put_offs import with_put_offs
from maintenance.queries.today import today_in

WIDTH = 100
MARK = "*"
"""Stands beside the day of an item that was put off; the day is the one it was."""

CHECKED = (DueItem.Status.OVERDUE, DueItem.Status.NO_RECORD)
CLOSING = (
    "Not yet due is not the same as fit for the road: look at the car. Local law, the maker's "
    "handbook and licensed practice go first."
)
COLOURS = {
    DueItem.Status.OVERDUE: "bold red",
    DueItem.Status.NO_RECORD: "red",
    DueItem.Status.BEFORE_USE: "magenta",
    DueItem.Status.FALLING_DUE: "yellow",
    DueItem.Status.UNMEASURED: "cyan",
}


class Command(BaseCommand):
    help = (
        "Print the due list: what falls due on which car, by which criterion. Exit status 0; "
        "1 with --check when anything is overdue or without record; 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", metavar="REG", help="registration mark of one car")
        parser.add_argument("--collection", metavar="NAME", help="one collection; default all")
        parser.add_argument(
            "--on", type=day, metavar="DATE", help="as known on this day; default today"
        )
        parser.add_argument("--format", choices=["table", "json", "csv"], default="table")
        parser.add_argument(
            "--check", action="store_true", help="exit with 1 if anything is overdue or unrecorded"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        collections = collections_named(options["collection"])
        items: list[dict[str, Any]] = []
        for collection in collections:
            items += self._items(collection, collections, options)
        getattr(self, f"_print_{options['format']}")(items)
        if options["check"] and any(item["status"] in CHECKED for item in items):
            sys.exit(1)

    def _items(
        self, collection: Collection, collections: list[Collection], options: dict[str, Any]
    ) -> list[dict[str, Any]]:
        cars = Vehicle.objects.filter(collection=collection)
        if options["vehicle"]:
            cars = cars.filter(pk=vehicle_registered(options["vehicle"], collections).pk)
        today = today_in(collection)
        on: datetime.date = options["on"] or today
        if on == today:
            found = list(due_list(cars, on=on).select_related("vehicle"))
        else:
            found = due_on_another_day(cars, on=on)
        return [as_dict(item) for item in with_put_offs(found, on=on)]

    def _print_json(self, items: list[dict[str, Any]]) -> None:
        self.stdout.write(json.dumps(items, indent=2, ensure_ascii=False, allow_nan=False))

    def _print_csv(self, items: list[dict[str, Any]]) -> None:
        columns = [name for name in (items[0] if items else {}) if name != "criteria"]
        writer = csv.DictWriter(self.stdout, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(items)

    def _print_table(self, items: list[dict[str, Any]]) -> None:
        console = Console(file=cast(IO[str], self.stdout), width=WIDTH, highlight=False)
        if not items:
            console.print("Nothing on record falls due.")
            return
        table = Table(box=None, pad_edge=False, header_style="bold")
        for name, width in (("due", 10), ("status", 11), ("car", 10)):
            table.add_column(name, min_width=width, no_wrap=True)
        table.add_column("component", ratio=1)
        table.add_column("task", no_wrap=True)
        # The longest of one word; what is of two takes two lines, and leaves the component room.
        table.add_column("by", max_width=10)
        table.add_column("at odometer", justify="right", no_wrap=True)
        for item in items:
            table.add_row(*_cells(item))
        console.print(table)
        for word in _put_off(items):
            console.print(Text(word))
        for word in _findings(items):
            console.print(Text(word))
        for caution in _cautions(items):
            console.print(Text(f"Caution: {caution}"), style="dim")
        console.print(CLOSING, style="dim")


def _put_off(items: list[dict[str, Any]]) -> list[str]:
    """Return what stands behind each mark: which item was put off, until when, by whom, why."""
    return [
        f"{MARK} {item['vehicle']} {item['component']} {item['position']}".rstrip()
        + f", {item['task']}: put off until {item['put_off_until']}"
        + (f" by {item['put_off_by']}" if item["put_off_by"] else "")
        + f": {item['put_off_why']}"
        for item in items
        if item["put_off_until"]
    ]


def _cautions(items: list[dict[str, Any]]) -> list[str]:
    """Return the standing caution of every kind in the list, each once, the gravest first."""
    danger = [DANGEROUS for item in items if item["caution"].startswith(DANGEROUS)]
    kinds = dict.fromkeys(item["component"] for item in items)
    known = [kind for kind in kinds if kind in catalogue().kinds]
    cautions = (caution for kind in known for caution in catalogue().cautions_for(kind))
    return list(dict.fromkeys([*danger, *(caution.text for caution in cautions)]))


def _findings(items: list[dict[str, Any]]) -> list[str]:
    """Return what an inspection found, in a sentence each: a table of days tells no danger."""
    return [f"{i['vehicle']}: {i['sentence']}" for i in items if i["governed_by"] == "finding"]


def _by(item: dict[str, Any]) -> str:
    """Return what governs an item: of a finding how grave it is too, as its rule begins."""
    if item["governed_by"] == "finding":
        return str(item["rule"]).partition(" of ")[0]
    return str(item["governed_by"]).replace("_", " ")


def _cells(item: dict[str, Any]) -> list[Text | str]:
    reading = item["due_at_odometer"]
    return [
        (item["due_on"] or "") + (MARK if item["put_off_until"] else ""),
        Text(item["status"].replace("_", " "), style=COLOURS.get(item["status"], "")),
        item["vehicle"],
        f"{item['component']} {item['position']}".strip()
        + (IN_STORE if item["storage_care"] else ""),
        item["task"],
        _by(item),
        "" if reading is None else f"{reading:g} {item['odometer_unit']}",
    ]
