"""Print what stands in the way of a trip."""

import json
import textwrap
from argparse import ArgumentParser, ArgumentTypeError
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.management.base import BaseCommand

from maintenance.management.arguments import by_option, collections_named, day, vehicle_registered
from maintenance.queries.today import today_in
from maintenance.services.refusals import Refused
from maintenance.services.trip_check import TripDraft, trip_check

WIDTH = 100
_OPTIONS = {
    "/from": "--from",
    "/to": "--to",
    "/distance": "--distance",
    "/countries": "--country",
}
_PARTS = (
    ("before_departure", "Before departure"),
    ("on_the_way", "Falls due on the way"),
    ("after_return", "Falls due soon after the return"),
)


def distance(text: str) -> Decimal:
    """Return a distance given as an argument."""
    try:
        return Decimal(text)
    except InvalidOperation:
        raise ArgumentTypeError(f"{text!r} is not a number; write it as 640") from None


class Command(BaseCommand):
    help = (
        "Print what is to be seen to before a trip, what falls due on the way and soon after, and "
        "on which days the inspection certificate holds. Nothing is saved."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", required=True, metavar="REG")
        parser.add_argument(
            "--from", dest="from_on", required=True, type=day, metavar="DATE", help="departure"
        )
        parser.add_argument(
            "--to", dest="to_on", required=True, type=day, metavar="DATE", help="return"
        )
        parser.add_argument(
            "--distance", required=True, type=distance, metavar="N", help="in the odometer's unit"
        )
        parser.add_argument(
            "--country", action="append", default=[], metavar="CODE",
            help="a country on the way, by its two letters of ISO 3166-1; may be repeated",
        )  # fmt: skip
        parser.add_argument("--collection", metavar="NAME")
        parser.add_argument("--format", choices=["table", "json"], default="table")

    def handle(self, *args: Any, **options: Any) -> None:
        vehicle = vehicle_registered(options["vehicle"], collections_named(options["collection"]))
        trip = TripDraft(
            from_on=options["from_on"],
            to_on=options["to_on"],
            distance=options["distance"],
            countries=tuple(options["country"]),
        )
        try:
            found = trip_check(vehicle=vehicle, trip=trip, on=today_in(vehicle.collection))
        except Refused as refused:
            raise by_option(refused, _OPTIONS) from refused
        if options["format"] == "json":
            self.stdout.write(json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False))
        else:
            self._print(found)

    def _print(self, found: dict[str, Any]) -> None:
        self._wrapped(
            f"{found['vehicle']}: {found['from']} to {found['to']}, {found['distance']} "
            f"{found['odometer_unit']} {' '.join(found['countries'])}".rstrip()
        )
        for text in found["assumes"]:
            self._wrapped(text, "  ")
        for name, title in _PARTS:
            self.stdout.write(f"{title}:" if found[name] else f"{title}: nothing on record")
            for item in found[name]:
                self._print_item(item, found["odometer_unit"])
        self._print_papers(found)
        for caution in dict.fromkeys(
            item["caution"] for name, _ in _PARTS for item in found[name] if item["caution"]
        ):
            self._wrapped(f"Caution: {caution}")
        self._wrapped(found["note"])

    def _print_item(self, item: dict[str, Any], unit: str) -> None:
        reason = item["reason"].replace("_", " ")
        if item["reason"] == "finding":
            reason = item["rule"].partition(" of ")[0]
        when = item["due_on"] or ""
        if item["after_distance"] is not None:
            when += f" after {item['after_distance']:g} {unit} of the trip"
        place = f"{item['component']} {item['position']}".strip()
        self._wrapped(f"{place}: {reason} {when}".rstrip() + f" ({item['criticality']})", "  ")
        self._wrapped(item["sentence"], "    ")
        self._wrapped(f"Cleared by: {item['cleared_by']}", "    ")

    def _print_papers(self, found: dict[str, Any]) -> None:
        self.stdout.write("Roadworthiness certificate:")
        for span in found["inspection"]["days"]:
            holds = "nothing on record against it" if span["valid"] else "no certificate holds"
            self.stdout.write(f"  {span['from']} to {span['to']}: {holds}")
        for note in found["inspection"]["notes"]:
            self._wrapped(note, "  ")
        for paper in found["papers"]:
            holds = "holds throughout" if paper["holds_throughout"] else "does not hold throughout"
            self._wrapped(f"{paper['kind']} until {paper['until']}: {holds}", "  ")

    def _wrapped(self, text: str, indent: str = "") -> None:
        self.stdout.write(
            textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
        )
