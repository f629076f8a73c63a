"""Group the coming months' due items into visits, and print them beside two habits."""

import json
import re
import sys
import textwrap
from argparse import ArgumentParser, ArgumentTypeError
from collections import Counter
from typing import IO, Any, cast

from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.table import Table
from rich.text import Text

from maintenance.management.arguments import (
    BAD_INPUT,
    by_option,
    collections_named,
    day,
    vehicle_registered,
)
from maintenance.management.commands.recommission import amount, weekdays
from maintenance.models import Vehicle
from maintenance.queries.departures import still_here
from maintenance.queries.today import today_in
from maintenance.services.plans.money import shown
from maintenance.services.plans.offers import usual_currency
from maintenance.services.plans.terms import SpanDraft, VisitDraft
from maintenance.services.plans.visits import visit_plan
from maintenance.services.refusals import Refused

WIDTH = 100
_SPAN = re.compile(r"([\d-]+)\.\.([\d-]+)")
_WAYS = (
    ("costs", "this plan"),
    ("each_on_its_day", "each on its day"),
    ("everything_yearly", "everything yearly"),
)
_USUAL = VisitDraft()


def closed(text: str) -> SpanDraft:
    """Return days on which no visit can be, given as an argument."""
    match = _SPAN.fullmatch(text)
    if match is None:
        raise ArgumentTypeError(f"{text!r} is no period; write it as 2027-07-01..2027-07-14")
    return SpanDraft(from_on=day(match[1]), to_on=day(match[2]))


_OPTIONS = {
    "/months": "--months",
    "/cost_of_visit": "--visit-cost",
    "/rate_per_hour": "--rate",
    "/late_per_day": "--late",
    "/currency": "--currency",
    "/hours_per_week": "--hours-per-week",
    "/weekdays": "--days",
    "/closed": "--closed",
}


class Command(BaseCommand):
    help = (
        "Group what falls due on cars in use into visits: never late for safety, and with as "
        "little life given up as the cost of a visit allows. Nothing is saved. Exit status 0; 1 "
        "where the items can't all be in time, in words; 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        which = parser.add_mutually_exclusive_group()
        which.add_argument("--vehicle", metavar="REG", help="one car; default all of a collection")
        which.add_argument("--collection", metavar="NAME", help="needed where there are several")
        parser.add_argument("--months", type=int, default=_USUAL.months, metavar="N")
        parser.add_argument(
            "--visit-cost", type=amount, default=_USUAL.cost_of_visit, metavar="AMOUNT",
            help="bringing one car in for one day, whatever is done (default %(default)s)",
        )  # fmt: skip
        parser.add_argument(
            "--rate", type=amount, default=_USUAL.rate_per_hour, metavar="AMOUNT",
            help="an hour of work (default %(default)s)",
        )  # fmt: skip
        parser.add_argument(
            "--late", type=amount, default=_USUAL.late_per_day, metavar="AMOUNT",
            help="a day that an item not of safety is late (default %(default)s)",
        )  # fmt: skip
        parser.add_argument("--currency", metavar="CODE", help="default the only one on record")
        parser.add_argument("--hours-per-week", type=float, metavar="H", help="of the workshop")
        parser.add_argument("--days", type=weekdays, default=_USUAL.weekdays, metavar="mon,tue")
        parser.add_argument(
            "--closed", type=closed, action="append", default=[], metavar="FROM..TO"
        )
        parser.add_argument("--seed", type=int, default=1, metavar="N")
        parser.add_argument("--format", choices=["table", "json"], default="table")

    def handle(self, *args: Any, **options: Any) -> None:
        cars = _cars(options)
        if not cars:
            raise CommandError("there is no car to plan for", returncode=BAD_INPUT)
        try:
            draft = _draft(options, options["currency"] or usual_currency(cars[0]))
            found = visit_plan(vehicles=cars, draft=draft, on=today_in(cars[0].collection))
        except Refused as refused:
            raise by_option(refused, _OPTIONS) from refused
        if options["format"] == "json":
            self.stdout.write(json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False))
        else:
            _print(found, Console(file=cast(IO[str], self.stdout), width=WIDTH, highlight=False))
        if found["conflict"] is not None:
            sys.exit(1)


def _cars(options: dict[str, Any]) -> list[Vehicle]:
    collections = collections_named(options["collection"])
    if options["vehicle"]:
        return [vehicle_registered(options["vehicle"], collections)]
    if len(collections) != 1:
        known = ", ".join(collection.name for collection in collections) or "none yet"
        raise CommandError(f"--collection: name one; there are: {known}", returncode=BAD_INPUT)
    cars = still_here(Vehicle.objects.filter(collection=collections[0]))
    return list(cars.select_related("collection").order_by("registration"))


def _draft(options: dict[str, Any], currency: str) -> VisitDraft:
    return VisitDraft(
        months=options["months"],
        cost_of_visit=options["visit_cost"],
        rate_per_hour=options["rate"],
        late_per_day=options["late"],
        currency=currency or _USUAL.currency,
        hours_per_week=options["hours_per_week"],
        weekdays=options["days"],
        closed=tuple(options["closed"]),
        seed=options["seed"],
    )


def _print(found: dict[str, Any], console: Console) -> None:
    console.print(f"{found['items']} items fall due from {found['on']} to {found['until']}.")
    if found["conflict"] is not None:
        console.print(Text(textwrap.fill(found["conflict"], WIDTH)))
        return
    _print_ways(found, console)
    _print_visits(found, console)
    for text in found["not_to_be_driven_in"]:
        console.print(Text(textwrap.fill(text, WIDTH)))
    if found["laid_up_for_unknown_time"]:
        cars = ", ".join(found["laid_up_for_unknown_time"])
        console.print(f"Not planned, laid up for an unknown time: {cars}")
    console.print(Text(textwrap.fill(found["note"], WIDTH)))


def _print_ways(found: dict[str, Any], console: Console) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("way", no_wrap=True)
    for name in ("visits", "cost of visits", "life given up", "lateness", "total"):
        table.add_column(name, justify="right")
    table.add_column("overdue days, safety", justify="right")
    table.add_column("other", justify="right")
    for key, name in _WAYS:
        costs = found[key]
        table.add_row(
            name,
            str(costs["visits"]),
            *(f"{costs[one]:,.2f}" for one in ("visit_cost", "given_up", "lateness", "total")),
            str(costs["overdue_safety_days"]),
            str(costs["overdue_other_days"]),
        )
    console.print(table)
    gap = shown(found["gap"], found["currency"])
    console.print(f"Proven: no plan totals more than {gap} less.")


def _print_visits(found: dict[str, Any], console: Console) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("visit", "car"):
        table.add_column(name, no_wrap=True)
    table.add_column("hours", justify="right", no_wrap=True)
    table.add_column("jobs", ratio=1)
    for visit in found["visits"]:
        table.add_row(visit["on"], visit["vehicle"], f"{visit['hours']:g}", _jobs(visit["items"]))
    console.print()
    console.print(table)


def _jobs(items: list[dict[str, Any]]) -> str:
    """The jobs of a visit in words, those at several places counted."""
    counted = Counter(item["job"].partition(",")[0] for item in items)
    return "; ".join(job if count == 1 else f"{job} ({count})" for job, count in counted.items())
