"""Let somebody try again who was locked out after too many failed attempts to sign in."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.management.arguments import BAD_INPUT
from maintenance.services.client_address import network_of
from maintenance.services.sign_in import unlock


class Command(BaseCommand):
    help = (
        "Forget the failed attempts to sign in with a user name, from an address, or, given both, "
        "with that name from that address. No password is changed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--account", metavar="NAME", help="user name")
        parser.add_argument("--address", help="network address, IPv4 or IPv6")

    def handle(self, *args: Any, **options: Any) -> None:
        name, address = options["account"], options["address"]
        if name is None and address is None:
            raise CommandError("give --account, --address or both", returncode=BAD_INPUT)
        network = None if address is None else network_of(address)
        if address is not None and network is None:
            raise CommandError(
                f"--address: {address!r} is no network address; give one such as 192.0.2.7",
                returncode=BAD_INPUT,
            )
        unlocked = unlock(username=name, address=network)
        self.stdout.write("unlocked" if unlocked else "nothing was locked or counted")
