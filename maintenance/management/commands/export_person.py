"""Export all that is held about one person."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT, account_named
from maintenance.services.held_about import as_bytes, held_about


class Command(BaseCommand):
    help = (
        "Print all that is held about one person as JSON: account, memberships and what hangs on "
        "them, cars kept with their history, and what they recorded. No secret is in it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--account", required=True, metavar="NAME", help="user name")
        parser.add_argument(
            "-o", "--output", type=Path, metavar="FILE", help="write here; default standard output"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        content = as_bytes(held_about(account=account_named(options["account"])))
        output: Path | None = options["output"]
        if output is None:
            self.stdout.write(content.decode(), ending="")
            return
        try:
            output.write_bytes(content)
        except OSError as problem:
            raise CommandError(
                f"{output}: cannot be written: {problem.strerror}", returncode=BAD_INPUT
            ) from problem
