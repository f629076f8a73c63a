"""Load the demonstration collection, print what falls due in it, and say how to get in."""

import datetime
import secrets
import sys
from argparse import ArgumentParser
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from maintenance.management.demonstration import FILE, OFFERS, PEOPLE, Person, told_on
from maintenance.models import AccessToken, Account, Collection, Member, Vehicle
from maintenance.queries.today import this_instant
from maintenance.services.history_file.import_history import import_history
from maintenance.services.history_file.read import read_document
from maintenance.services.members import add_member
from maintenance.services.part_offers import import_offers
from maintenance.services.tokens import issue_token, revoke_token
from maintenance.services.vehicles import change_vehicle

TOKEN_NAME = "demonstration"
TOKEN_DAYS = 30


class Command(BaseCommand):
    help = (
        "Load an invented club's dozen cars with ten years of history, print their due list and "
        "say which address, user, password and token to use. A second run adds nothing but gives "
        "a new password and a new token. Exit status 2 where other collections are in the way."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--address",
            default="http://127.0.0.1:8000",
            metavar="URL",
            help="where the service is served, for the lines printed last",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        document = read_document(FILE.read_bytes(), limit=settings.HISTORY_FILE_LIMIT)
        name = document["collection"]["name"]
        # The demonstration makes accounts, one of which runs the admin: no thing to do by mistake
        # on a database that holds somebody's cars.
        if Collection.objects.exists() and not Collection.objects.filter(name=name).exists():
            raise CommandError(
                "this database holds other collections; load the demonstration into one of its "
                "own, for example DATABASE_URL=sqlite:///demo.sqlite3",
                returncode=2,
            )
        now = this_instant()
        today = now.astimezone(ZoneInfo(document["collection"]["time_zone"])).date()
        self._load(told_on(document, today=today), now, today)
        collection = Collection.objects.get(name=name)
        import_offers(collection=collection, text=OFFERS.read_text(encoding="utf-8"))
        password, token = self._let_in(collection, now, today)
        call_command("due", collection=name, stdout=self.stdout, stderr=self.stderr)
        self._say_how_to_get_in(options["address"], password, token)

    def _load(self, document: dict[str, Any], now: datetime.datetime, today: datetime.date) -> None:
        console = Console(file=sys.stderr)
        columns = (TextColumn("loading"), BarColumn(), MofNCompleteColumn(), TextColumn("cars"))
        # A bar is for a person watching; a log would only fill up.
        with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
            task = progress.add_task("demo", total=len(document["vehicles"]))
            import_history(
                document=document,
                by=None,
                at=now,
                today=today,
                dry_run=False,
                progress=lambda cars: progress.advance(task, cars),
            )

    @transaction.atomic
    def _let_in(
        self, collection: Collection, now: datetime.datetime, today: datetime.date
    ) -> tuple[str, str]:
        """Make or find the members, give them a new password, and issue the secretary a token."""
        password = secrets.token_urlsafe(12)
        for person in PEOPLE:
            account = _account(person, password)
            member = _member(collection, account, person)
            for vehicle in Vehicle.objects.filter(
                collection=collection, registration__in=person.cars
            ).exclude(keeper=member):
                change_vehicle(
                    vehicle=vehicle,
                    version=vehicle.version,
                    changes={"keeper": member},
                    today=today,
                )
        secretary = Account.objects.get(username=PEOPLE[0].username)
        for former in AccessToken.objects.filter(account=secretary, name=TOKEN_NAME):
            revoke_token(token=former, at=now)
        _, text = issue_token(
            account=secretary,
            name=TOKEN_NAME,
            scope=AccessToken.Scope.MANAGE,
            expires_at=now + datetime.timedelta(days=TOKEN_DAYS),
            at=now,
        )
        return password, text

    def _say_how_to_get_in(self, address: str, password: str, token: str) -> None:
        users = ", ".join(person.username for person in PEOPLE)
        self.stdout.write(
            f"""
Sign in    {address}/sign-in
Documents  {address}/api/v1/docs/
Admin      {address}/admin/ (user {PEOPLE[0].username})
Users      {users}
Password   {password} (of each of them; new with every run)
Token      {token}
           (of {PEOPLE[0].username}, for {TOKEN_DAYS} days; shown this once)
Try        curl -H "Authorization: Bearer {token}" \\
             "{address}/api/v1/due-items?status=overdue\""""
        )


def _account(person: Person, password: str) -> Account:
    account, _ = Account.objects.get_or_create(
        username=person.username, defaults={"email": f"{person.username}@vennay.example"}
    )
    # The secretary stands in for whoever runs the service; nobody else sees the admin.
    runs_the_service = person.role == Member.Role.SECRETARY
    account.is_staff = account.is_superuser = runs_the_service
    account.set_password(password)
    account.save()
    return account


def _member(collection: Collection, account: Account, person: Person) -> Member:
    found = Member.objects.filter(collection=collection, account=account).first()
    return found or add_member(
        collection=collection, account=account, name=person.name, role=person.role
    )
