"""Print the due list under a plan beside that of today."""

import json
import re
import textwrap
from argparse import ArgumentParser, ArgumentTypeError
from decimal import Decimal, InvalidOperation
from typing import IO, Any, cast

from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.table import Table

from maintenance.management.arguments import (
    BAD_INPUT,
    by_option,
    collections_named,
    day,
    vehicle_registered,
)
from maintenance.management.words import IN_STORE
from maintenance.queries.today import today_in
from maintenance.services.drafts import Place
from maintenance.services.projection import project
from maintenance.services.refusals import Refused
from maintenance.services.what_if import (
    MONTHS,
    PlanDraft,
    PlannedDistance,
    PlannedLayUp,
    PlannedWork,
)

WIDTH = 100
_OPTIONS = {
    "/lay_ups": "--lay-up",
    "/return_on": "--return",
    "/distance": "--distance",
    "/distance/by": "--by",
    "/done": "--done",
    "/months": "--months",
}
_LAY_UP = re.compile(r"([\d-]+)\.\.([\d-]+):([a-z]+)")
_DONE = re.compile(r"([a-z0-9-]+)(?:/([^:]*))?:([a-z]+)@([\d-]+)")


def lay_up(text: str) -> PlannedLayUp:
    """Return a planned lay-up given as an argument."""
    match = _LAY_UP.fullmatch(text)
    if match is None:
        raise ArgumentTypeError(f"{text!r} is no lay-up; write it as 2027-10-20..2028-04-01:dry")
    return PlannedLayUp(from_on=day(match[1]), to_on=day(match[2]), storage=match[3])


def done(text: str) -> PlannedWork:
    """Return planned work given as an argument."""
    match = _DONE.fullmatch(text)
    if match is None:
        raise ArgumentTypeError(
            f"{text!r} is no work; write it as brake-fluid:renew@2027-03-01 or "
            "'tyre/front left:renew@2027-03-01'"
        )
    place = Place(match[1], (match[2] or "").strip())
    return PlannedWork(place=place, task=match[3], on=day(match[4]))


def amount(text: str) -> Decimal:
    """Return a distance given as an argument."""
    try:
        return Decimal(text)
    except InvalidOperation:
        raise ArgumentTypeError(f"{text!r} is not a number; write it as 3000") from None


class Command(BaseCommand):
    help = (
        "Print what falls due if lay-ups, distance and work to come are as given, beside what "
        "falls due as things stand. Nothing is saved."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", required=True, metavar="REG")
        parser.add_argument(
            "--lay-up", action="append", default=[], type=lay_up, metavar="FROM..TO:GRADE"
        )
        parser.add_argument(
            "--return", dest="return_on", type=day, metavar="DATE", help="ends the present lay-up"
        )
        parser.add_argument(
            "--distance", type=amount, metavar="N", help="in the odometer's unit: a year, or --by"
        )
        parser.add_argument("--by", type=day, metavar="DATE", help="the day --distance is for")
        parser.add_argument(
            "--done", action="append", default=[], type=done, metavar="KIND[/POSITION]:TASK@DATE"
        )
        parser.add_argument("--months", type=int, default=MONTHS, metavar="N")
        parser.add_argument("--collection", metavar="NAME")
        parser.add_argument("--format", choices=["table", "json"], default="table")

    def handle(self, *args: Any, **options: Any) -> None:
        vehicle = vehicle_registered(options["vehicle"], collections_named(options["collection"]))
        try:
            found = project(vehicle=vehicle, plan=_plan(options), on=today_in(vehicle.collection))
        except Refused as refused:
            raise by_option(refused, _OPTIONS) from refused
        if options["format"] == "json":
            self.stdout.write(json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False))
        else:
            self._print(found)

    def _print(self, found: dict[str, Any]) -> None:
        self.stdout.write(f"{found['vehicle']}: {found['on']} to {found['until']}")
        for text in found["assumes"]:
            self.stdout.write(f"  {text}")
        table = Table(box=None, pad_edge=False, header_style="bold")
        for name in ("today", "planned", "by", "80 % band", "then done"):
            table.add_column(name, no_wrap=True)
        table.add_column("component", ratio=1)
        table.add_column("task", no_wrap=True)
        for item in found["items"]:
            for row in _rows(item):
                table.add_row(*row)
        Console(file=cast(IO[str], self.stdout), width=WIDTH, highlight=False).print(table)
        self.stdout.write(textwrap.fill(found["note"], WIDTH))


def _plan(options: dict[str, Any]) -> PlanDraft:
    if options["by"] and options["distance"] is None:
        raise CommandError("--by: is the day for --distance; give both", returncode=BAD_INPUT)
    distance = None
    if options["distance"] is not None:
        distance = PlannedDistance(amount=options["distance"], by=options["by"])
    return PlanDraft(
        lay_ups=tuple(options["lay_up"]),
        return_on=options["return_on"],
        distance=distance,
        done=tuple(options["done"]),
        months=options["months"],
    )


def _rows(item: dict[str, Any]) -> list[list[str]]:
    """Return a line for each time the item falls due, the first with today's day beside it."""
    today = item["today"] or {"due_on": None, "status": "in store only"}
    now = today["due_on"] or today["status"].replace("_", " ")
    place = f"{item['component']} {item['position']}".strip()
    place += IN_STORE if item["storage_care"] else ""
    if not item["projected"]:
        return [[now, "", "", "", "", f"{place}: {item['says']}", item["task"]]]
    last = len(item["projected"]) - 1
    return [
        [
            now if number == 0 else "",
            one["due_on"],
            one["governed_by"].replace("_", " "),
            _band(item["by_season"]) if number == last else "",
            one["done_on"] or "",
            place,
            item["task"],
        ]
        for number, one in enumerate(item["projected"])
    ]


def _band(band: dict[str, Any] | None) -> str:
    """Return the 80 % band by the months of the day on which a distance is reached."""
    if band is None or band["earliest_on"] is None:
        return ""
    return f"{band['earliest_on']}..{band['latest_on'] or 'later'}"
