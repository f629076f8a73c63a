"""The only reader of the clock; everything else is told what day or instant it is."""

import datetime

from maintenance.models import Collection


def this_instant() -> datetime.datetime:
    """Return the present instant in UTC."""
    return datetime.datetime.now(datetime.UTC)


def today_in(collection: Collection) -> datetime.date:
    """Return the present local calendar day of the collection."""
    return this_instant().astimezone(collection.zone).date()
