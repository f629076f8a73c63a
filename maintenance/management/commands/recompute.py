"""Compute all due items afresh and store what changed."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from maintenance.management.arguments import collections_named
from maintenance.models import Vehicle
from maintenance.queries.today import today_in
from maintenance.services.recompute import recompute_collection


class Command(BaseCommand):
    help = "Compute the due items of every car afresh, as the nightly pass does."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--collection", metavar="NAME", help="one collection; default all")

    def handle(self, *args: Any, **options: Any) -> None:
        collections = collections_named(options["collection"])
        total = Vehicle.objects.filter(collection__in=collections).count()
        changed = 0
        columns = (TextColumn("cars"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        # A bar is for a person watching; a log would only fill up.
        console = Console(file=sys.stderr)
        with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
            task = progress.add_task("recompute", total=total)
            for collection in collections:
                changed += recompute_collection(
                    collection=collection,
                    on=today_in(collection),
                    progress=lambda cars: progress.advance(task, cars),
                )
        self.stdout.write(f"{total} cars computed, {changed} due items changed.")
