"""Print how due days come about, line by line."""

import datetime
import json
import textwrap
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.catalogue.load import catalogue
from maintenance.catalogue.words import nearest
from maintenance.management.arguments import (
    BAD_INPUT,
    collections_named,
    day,
    vehicle_registered,
)
from maintenance.models import Vehicle
from maintenance.queries.due_answers import INSPECTION_KIND
from maintenance.queries.today import today_in
from maintenance.services.working import why_no_inspection, workings_of_component

WIDTH = 100


class Command(BaseCommand):
    help = "Print the working of every due item of a component: facts, arithmetic and sources."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", required=True, metavar="REG")
        parser.add_argument(
            "--component",
            required=True,
            metavar="KIND",
            help="slug of the kind, such as brake-fluid; or roadworthiness-inspection",
        )
        parser.add_argument("--position", metavar="P", help="where on the car; default all")
        parser.add_argument("--collection", metavar="NAME")
        parser.add_argument("--on", type=day, metavar="DATE", help="default today")
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        collections = collections_named(options["collection"])
        vehicle = vehicle_registered(options["vehicle"], collections)
        on = options["on"] or today_in(vehicle.collection)
        workings = workings_of_component(
            vehicle=vehicle, kind=options["component"], position=options["position"], on=on
        )
        if not workings:
            raise CommandError(_nothing(vehicle, options, on), returncode=BAD_INPUT)
        if options["format"] == "json":
            self.stdout.write(json.dumps(workings, indent=2, ensure_ascii=False, allow_nan=False))
            return
        for working in workings:
            self._print(working)

    def _print(self, working: dict[str, Any]) -> None:
        place = f"{working['component']} {working['position']}".strip()
        self.stdout.write(f"{working['vehicle']}  {place}: {working['rule']}")
        self._wrapped(working["sentence"], "  ")
        status = working["status"].replace("_", " ")
        self.stdout.write(
            f"  Due on {working['due_on'] or 'no day'}, governed by "
            f"{working['governed_by'].replace('_', ' ')}; {status} on {working['on']}"
        )
        for leg in working["journey"]:
            self._print_leg(leg)
        for criterion in working["criteria"]:
            self._print_criterion(criterion)
        for estimate in working["condition"]:
            self._print_estimate(estimate)
        if working["caution"]:
            self._wrapped(f"Caution: {working['caution']}", "  ")
        self.stdout.write("")

    def _print_leg(self, leg: dict[str, Any]) -> None:
        """Say where the part was, with what its clock counted there."""
        kept = f", {leg['storage']} storage" if leg["storage"] else ""
        since = f"from {leg['from_on']}" if leg["from_on"] else "at first"
        until = f" to {leg['until_on']}" if leg["until_on"] else ""
        counted = ""
        if leg["aged_days"] is not None:
            counted = f": {leg['aged_days']:g} aged days, {leg['distance_km']:.0f} km"
        where = f"{leg['vehicle']} {leg['position']}".rstrip()
        self._wrapped(f"{since}{until} on {where}{kept}{counted}", "  ")

    def _print_criterion(self, criterion: dict[str, Any]) -> None:
        day = criterion["due_on"] or "no day"
        band = ""
        if criterion["earliest_on"] != criterion["latest_on"]:
            band = f" (from {criterion['earliest_on']} to {criterion['latest_on'] or 'no day'})"
        self.stdout.write(f"  {criterion['criterion'].replace('_', ' ')}: {day}{band}")
        for line in criterion["lines"]:
            self._print_line(line)

    def _print_estimate(self, estimate: dict[str, Any]) -> None:
        name = f"  estimate of {estimate['quantity'].replace('_', ' ')}"
        if estimate["reason"]:
            self._wrapped(f"{name}: none, because {estimate['reason']}", "")
        else:
            unit = "" if estimate["unit"] == "date" else f" {estimate['unit']}"
            band = f"{estimate['low']} to {estimate['high']}{unit}"
            self._wrapped(f"{name}: {estimate['central']}{unit} (from {band})", "")
        for fact in estimate["facts"]:
            self._wrapped(f"{fact['says']}: {fact['value']} {fact['unit']}".rstrip(), "      ")
        for line in estimate["lines"]:
            self._print_line(line)
        for says in estimate["look_for"]:
            self._wrapped(f"Before use: {says}", "      ")
        for warning in estimate["warnings"]:
            self._wrapped(f"Warning: {warning}", "      ")
        if estimate["source"]:
            self._wrapped(f"source: {estimate['source']}", "        ")

    def _print_line(self, line: dict[str, Any]) -> None:
        if not line["name"]:
            self._wrapped(line["says"], "      ")
            return
        value = f"{line['name']} = {line['shown']} {line['unit']}".rstrip()
        if line["formula"]:
            value += f"  = {line['formula']}  = {line['figures']}"
        self._wrapped(f"{value}  ({line['says']})", "      ")
        if line["source"]:
            self._wrapped(f"source: {line['source']}", "        ")

    def _wrapped(self, text: str, indent: str) -> None:
        self.stdout.write(
            textwrap.fill(
                text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ",
                break_long_words=False,
            )
        )  # fmt: skip


def _nothing(vehicle: Vehicle, options: dict[str, Any], on: datetime.date) -> str:
    kind, position = options["component"], options["position"]
    if kind == INSPECTION_KIND and (why := why_no_inspection(vehicle=vehicle, on=on)):
        return f"--component: no inspection is asked of {vehicle.registration} on {on}: {why}"
    places = vehicle.components.order_by("kind", "position").values_list("kind", "position")
    own = sorted({place[0] for place in places})
    if kind in own:
        emptied = vehicle.components.filter(kind=kind, empty_since__isnull=False)
        if (place := emptied.filter(position=position or "").first()) is not None:
            where = f"{kind} {place.position}".rstrip()
            return f"--component: nothing is in place as {where!r} since {place.empty_since}"
        if position is None:
            return f"--component: nothing is asked of {kind!r} on {vehicle.registration} that day"
        at = ", ".join(repr(place[1]) for place in places if place[0] == kind)
        return f"--position: {vehicle.registration} has no {kind!r} at {position!r}; it has: {at}"
    near = nearest(kind, own) or nearest(kind, catalogue().kinds)
    hint = f"; did you mean {near!r}?" if near else ""
    return f"--component: {vehicle.registration} has no component of the kind {kind!r}{hint}"
