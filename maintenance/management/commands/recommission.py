"""Plan a car's way back to the road, and print the plan."""

import datetime
import json
import sys
from argparse import ArgumentParser, ArgumentTypeError
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import IO, Any, cast

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT, collections_named, day, vehicle_registered
from maintenance.management.plan_table import print_plan
from maintenance.management.resources import HELP, resource
from maintenance.models import RecommissioningPlan, Vehicle
from maintenance.queries.today import this_instant, today_in
from maintenance.services.plans.answers import as_dict
from maintenance.services.plans.building import Sheets
from maintenance.services.plans.gantt import gantt
from maintenance.services.plans.job_sheet import job_sheet
from maintenance.services.plans.stored import draft_plan, keep_plan
from maintenance.services.plans.terms import (
    WEEKDAYS,
    PersonDraft,
    RecommissioningDraft,
    ResourceDraft,
    weekly,
)
from maintenance.services.plans.working_days import working_days
from maintenance.services.refusals import Refused

STANDS = "axle stands"
#: Arguments that say the same as a field of the plan, for refusals.
_FIELDS = {"/by": "--by", "/starts_on": "--start", "/budget": "--budget", "/seed": "--seed"}
_FIELDS |= {"/time_limit": "--seconds", "/currency": "--currency", "/rate_per_hour": "--rate"}


def weekdays(text: str) -> tuple[str, ...]:
    """Return weekdays given as an argument."""
    days = tuple(part.strip().lower() for part in text.split(","))
    for one in days:
        if one not in WEEKDAYS:
            raise ArgumentTypeError(f"{one!r} is no weekday; write them as sat,sun")
    return days


def amount(text: str) -> Decimal:
    """Return an amount of money given as an argument."""
    try:
        return Decimal(text)
    except InvalidOperation:
        raise ArgumentTypeError(f"{text!r} is not an amount; write it as 1500") from None


def hours(text: str) -> float:
    """Return the length of a working day given as an argument [h]."""
    try:
        found = float(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a number of hours; write it as 6") from None
    if not 0.5 <= found <= 14:
        raise ArgumentTypeError(f"{text} hours are no working day; give 0.5 to 14")
    return found


class Command(BaseCommand):
    help = (
        "Plan what brings a car back to the road by a day: which jobs, in what order, when and by "
        "whom, what must be ordered now, what it costs. Exit status 0; 1 where the demands can't "
        "hold together, with the smallest set of them in words; 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", required=True, metavar="REG")
        parser.add_argument("--by", required=True, type=day, metavar="DATE", help="be ready by")
        parser.add_argument("--start", type=day, metavar="DATE", help="first day; default today")
        parser.add_argument("--people", type=int, default=2, metavar="N", help="default 2")
        parser.add_argument(
            "--hours", type=hours, default=6.0, metavar="H", help="a working day [h], from 9:00"
        )
        parser.add_argument(
            "--days", type=weekdays, default=("sat",), metavar="sat,sun", help="default sat"
        )
        parser.add_argument("--stands", type=int, metavar="N", help="pairs of axle stands")
        parser.add_argument(
            "--resource", type=resource, action="append", default=[], metavar="NAME", help=HELP
        )
        parser.add_argument("--budget", type=amount, metavar="AMOUNT")
        parser.add_argument("--currency", default="", metavar="CODE")
        parser.add_argument(
            "--rate", type=amount, default=Decimal(0), metavar="AMOUNT",
            help="what an hour of work is worth, where an assembly saves work",
        )  # fmt: skip
        parser.add_argument("--seed", type=int, default=1, metavar="N")
        parser.add_argument("--seconds", type=int, default=10, metavar="N", help="longest search")
        parser.add_argument("--collection", metavar="NAME")
        parser.add_argument("--format", choices=["table", "json"], default="table")
        parser.add_argument("--save", action="store_true", help="keep the plan and follow it")
        parser.add_argument("--sheet", type=Path, metavar="FILE.pdf", help="write the job sheets")
        parser.add_argument("--gantt", type=Path, metavar="FILE.svg", help="draw the plan")
        parser.add_argument("--calendar", type=Path, metavar="FILE.ics", help="write the days")

    def handle(self, *args: Any, **options: Any) -> None:
        vehicle = vehicle_registered(options["vehicle"], collections_named(options["collection"]))
        today = today_in(vehicle.collection)
        sheets = _planned(vehicle, _draft(options, today), today, keep=options["save"])
        self._write_files(sheets, options)
        if options["format"] == "json":
            self.stdout.write(
                json.dumps(as_dict(sheets), indent=2, ensure_ascii=False, allow_nan=False)
            )
        else:
            print_plan(sheets, cast(IO[str], self.stdout))
        if options["save"]:
            self.stderr.write(f"Kept as plan {sheets.plan.pk}.")
        if sheets.plan.state == RecommissioningPlan.State.IMPOSSIBLE:
            sys.exit(1)

    def _write_files(self, sheets: Sheets, options: dict[str, Any]) -> None:
        for name, drawn in (("sheet", job_sheet), ("gantt", gantt), ("calendar", working_days)):
            path: Path | None = options[name]
            if path is None:
                continue
            try:
                path.write_bytes(drawn(sheets))
            except OSError as wrong:
                raise CommandError(f"--{name}: {wrong}", returncode=BAD_INPUT) from wrong


def _draft(options: dict[str, Any], today: datetime.date) -> RecommissioningDraft:
    shifts = weekly(options["days"], options["hours"])
    count = max(options["people"], 0)
    people = tuple(PersonDraft(name=f"person {n + 1}", hours=shifts) for n in range(count))
    stands = options["stands"]
    named = [] if stands is None else [ResourceDraft(name=STANDS, capacity=stands)]
    return RecommissioningDraft(
        by=options["by"],
        starts_on=options["start"] or today,
        people=people,
        resources=(*named, *options["resource"]),
        budget=options["budget"],
        currency=options["currency"],
        rate_per_hour=options["rate"],
        seed=options["seed"],
        time_limit=options["seconds"],
    )


def _planned(
    vehicle: Vehicle, draft: RecommissioningDraft, today: datetime.date, *, keep: bool
) -> Sheets:
    try:
        sheets = draft_plan(vehicle=vehicle, draft=draft, today=today)
        sheets.plan.planned_at = this_instant()
        if keep:
            keep_plan(sheets)
        return sheets
    except Refused as refused:
        said = [_said(problem.pointer, problem.message, draft) for problem in refused.problems]
        raise CommandError("; ".join(said), returncode=BAD_INPUT) from refused


def _said(pointer: str, message: str, draft: RecommissioningDraft) -> str:
    _, field, place, *_ = f"{pointer}///".split("/")
    name = _FIELDS.get(pointer) or {"people": "--people", "resources": "--resource"}.get(field)
    if name == "--resource" and place and draft.resources[int(place)].name == STANDS:
        name = "--stands"
    return f"{name or pointer}: {message}" if pointer else message
