"""Hold every record of every car against its chain."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from maintenance.management.arguments import (
    BAD_INPUT,
    collections_named,
    vehicle_registered,
)
from maintenance.models import Vehicle
from maintenance.services.verify_history import Verified, verify_history


class Command(BaseCommand):
    help = (
        "Verify that what is on record of each car is what was recorded: nothing changed, "
        "removed, inserted or reordered. Exit status 0; 1 where a record differs, each of which "
        "is named; 2 for bad input."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicle", metavar="REG", help="registration mark of one car")
        parser.add_argument("--collection", metavar="NAME", help="one collection; default all")
        parser.add_argument(
            "--head",
            metavar="DIGEST",
            help="with --vehicle: a head noted earlier, as an export carries it; what it stood "
            "for must be there still",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["head"] and not options["vehicle"]:
            raise CommandError("--head: name the car by --vehicle", returncode=BAD_INPUT)
        collections = collections_named(options["collection"])
        cars = Vehicle.objects.filter(collection__in=collections).order_by("registration")
        if options["vehicle"]:
            cars = cars.filter(pk=vehicle_registered(options["vehicle"], collections).pk)
        columns = (TextColumn("cars"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        console = Console(file=sys.stderr)
        faults = records = total = erased = 0
        # A bar is for a person watching; a log would only fill up.
        with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
            task = progress.add_task("verify", total=cars.count())
            for car in verify_history(
                cars.iterator(1000), progress=lambda done: progress.advance(task, done)
            ):
                total, records = total + 1, records + car.length
                erased += car.erased
                faults += self._tell(car, options["head"])
        if options["vehicle"] and not faults:
            self.stdout.write(f"Head: {car.head or 'nothing is recorded'}")
        if faults:
            self.stderr.write(f"{_count(faults, 'difference')} in {_count(records, 'record')}.")
            sys.exit(1)
        found = f"{_count(total, 'car')}, {_count(records, 'record')}"
        self.stdout.write(f"{found}: all as recorded.")
        if erased:
            self.stdout.write(
                f"A name was erased in {_count(erased, 'text')}; each reads as its erasure says."
            )

    def _tell(self, car: Verified, head: str | None) -> int:
        mark = car.vehicle.registration
        for fault in car.faults:
            self.stderr.write(f"{mark}: {fault.what}: {fault.message}")
        if head is None or head in car.digests:
            return len(car.faults)
        self.stderr.write(f"{mark}: no record has the head {head}: one up to it is gone or changed")
        return len(car.faults) + 1


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
