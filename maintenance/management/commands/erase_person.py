"""Erase what is held about one person."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT, account_named
from maintenance.queries.today import this_instant
from maintenance.services.erasure import erase_account
from maintenance.services.refusals import Refused


class Command(BaseCommand):
    help = (
        "Erase an account with its memberships, tokens and addresses, and take the person's name "
        "out of the records, which stay. Nothing brings it back."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--account", required=True, metavar="NAME", help="user name")
        parser.add_argument(
            "--confirm", required=True, metavar="NAME", help="the same once more: this is for good"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        account = account_named(options["account"])
        if options["confirm"] != account.username:
            raise CommandError(
                f"--confirm: is not {account.username!r}; nothing was erased", returncode=BAD_INPUT
            )
        at = this_instant()
        try:
            erased = erase_account(account=account, by=None, at=at, today=at.date())
        except Refused as refused:
            raise CommandError(f"nothing was erased: {refused}", returncode=BAD_INPUT) from refused
        self.stdout.write(f"erased; the name was taken out of {erased.texts} texts on record")
        if erased.left:
            self.stderr.write(
                f"{erased.left} texts still name the person: they were recorded before texts could "
                "be erased"
            )
