"""Arguments that several commands take, read with a clear refusal."""

import argparse
import datetime
import difflib
from collections.abc import Mapping

from django.core.management.base import CommandError

from maintenance.models import Account, Collection, Vehicle
from maintenance.queries.marks import with_marks
from maintenance.services.refusals import Refused

BAD_INPUT = 2
"""Exit status for arguments or files that can't be used."""


def by_option(refused: Refused, options: Mapping[str, str]) -> CommandError:
    """Return a refusal with the option that is at fault in place of its JSON pointer.

    The longest pointer of `options` that a problem's begins with names its option.
    """
    said = []
    for problem in refused.problems:
        known = [each for each in options if f"{problem.pointer}/".startswith(f"{each}/")]
        option = options[max(known, key=len)] if known else problem.pointer
        said.append(f"{option}: {problem.message}" if option else problem.message)
    return CommandError("; ".join(said), returncode=BAD_INPUT)


def day(text: str) -> datetime.date:
    """Return an ISO 8601 date given as an argument."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a date; write it as 2026-04-30"
        ) from None


def account_named(name: str) -> Account:
    """Return the account with a user name."""
    account = Account.objects.filter(username=name).first()
    if account is None:
        raise CommandError(f"--account: no account is called {name!r}", returncode=BAD_INPUT)
    return account


def collections_named(name: str | None) -> list[Collection]:
    """Return the collections asked about: the one with that name, or all."""
    found = list(Collection.objects.order_by("name", "id"))
    if name is None:
        return found
    named = [collection for collection in found if collection.name == name]
    if not named:
        known = ", ".join(collection.name for collection in found) or "none yet"
        raise CommandError(
            f"--collection: no collection is called {name!r}; there are: {known}",
            returncode=BAD_INPUT,
        )
    return named


def one_collection(name: str | None) -> Collection:
    """Return the collection to work on: the one with that name, or the only one there is."""
    found = collections_named(name)
    if len(found) != 1:
        names = ", ".join(repr(collection.name) for collection in found) or "none yet"
        raise CommandError(
            f"--collection: name the one that is meant; there are: {names}", returncode=BAD_INPUT
        )
    return found[0]


def vehicle_registered(registration: str, collections: list[Collection]) -> Vehicle:
    """Return the car with a registration mark."""
    cars = Vehicle.objects.filter(collection__in=collections).select_related("collection")
    found = list(with_marks(cars, [registration.strip()]))
    if len(found) == 1:
        return found[0]
    if found:
        raise CommandError(
            f"--vehicle: {registration!r} is in more than one collection; name one by --collection",
            returncode=BAD_INPUT,
        )
    known = list(cars.values_list("registration", flat=True))
    near = difflib.get_close_matches(registration.strip().upper(), known, n=1)
    hint = f"; did you mean {near[0]}?" if near else ""
    raise CommandError(
        f"--vehicle: no car is registered {registration!r}{hint}", returncode=BAD_INPUT
    )
