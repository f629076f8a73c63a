"""Issue a token for a program."""

import datetime
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT
from maintenance.models import AccessToken, Account
from maintenance.queries.today import this_instant
from maintenance.services.refusals import Refused
from maintenance.services.tokens import issue_token


class Command(BaseCommand):
    help = (
        "Issue a token by which a program acts for an account, and print it. Only its digest is "
        "kept: what is printed is shown this once."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--account", required=True, metavar="NAME", help="user name")
        parser.add_argument("--name", required=True, help="what the token is for")
        parser.add_argument("--scope", choices=AccessToken.Scope.values, default="read")
        parser.add_argument(
            "--days",
            type=int,
            default=settings.TOKEN_DAYS,
            help=f"after which it expires; default {settings.TOKEN_DAYS}",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        account = Account.objects.filter(username=options["account"], is_active=True).first()
        if account is None:
            raise CommandError(
                f"--account: no account is called {options['account']!r}; make it in the admin, "
                "or with createsuperuser",
                returncode=BAD_INPUT,
            )
        at = this_instant()
        try:
            token, text = issue_token(
                account=account,
                name=options["name"],
                scope=options["scope"],
                expires_at=at + datetime.timedelta(days=options["days"]),
                at=at,
            )
        except (Refused, OverflowError) as refused:
            raise CommandError(f"nothing was issued: {refused}", returncode=BAD_INPUT) from refused
        self.stdout.write(text)
        self.stderr.write(f"{token.scope} until {token.expires_at:%Y-%m-%d}; shown this once")
