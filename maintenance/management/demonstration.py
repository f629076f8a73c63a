"""The demonstration collection: its file, the day it is told on, and the people in it.

The file tells ten years of a club as they look on one day. To show every status whenever it is
loaded, all its days are moved by the same number of days, so that this day becomes today.
"""

import datetime
from pathlib import Path
from typing import Any, NamedTuple

from django.conf import settings

from maintenance.engine.stated_days import read_day
from maintenance.models import Member, Vehicle

FILE: Path = settings.BASE_DIR / "fixtures" / "demo-collection.json"
OFFERS = FILE.with_name("demo-part-offers.csv")
"""What parts cost the club, for its plans."""
#: The day on which the file, as it is written, tells the truth.
TOLD_ON = datetime.date(2026, 11, 25)
#: Keys that hold days of the story. When a part was made is stamped on it and does not move.
_DAY_KEYS = {
    "built_on",
    "expected_to",
    "expires_on",
    "first_registered_on",
    "from",
    "on",
    "since",
    "to",
    "until",
}


class Person(NamedTuple):
    """A member of the club; `cars` are the registration marks of the cars they keep."""

    username: str
    name: str
    role: Member.Role
    cars: tuple[str, ...] = ()


PEOPLE = (
    Person("demo-secretary", "Imra Toldane", Member.Role.SECRETARY, ("VY-644",)),
    Person("demo-officer", "Oswin Karrel", Member.Role.TECHNICAL_OFFICER, ("VY-467", "VY-520")),
    Person(
        "demo-keeper-1",
        "Bettan Quorl",
        Member.Role.KEEPER,
        ("VY-118", "VY-305", "VY-588", "VY-709"),
    ),
    Person(
        "demo-keeper-2",
        "Edda Varnholm",
        Member.Role.KEEPER,
        ("VY-231", "VY-412", "VY-602", "VY-751", "VY-803"),
    ),
    Person("demo-viewer", "Tam Ellick", Member.Role.VIEWER),
)


def told_on(document: dict[str, Any], *, today: datetime.date) -> dict[str, Any]:
    """Return the history with every day moved so that the day it is told on becomes today.

    A collection that was loaded before keeps the days it was loaded with: moved again, the same
    history would be another one and stand beside the first.
    """
    first = document["vehicles"][0]
    loaded = Vehicle.objects.filter(
        collection__name=document["collection"]["name"], registration=first["registration"]
    ).first()
    if loaded is None or loaded.built_on is None:
        by = today - TOLD_ON
    else:
        by = loaded.built_on - datetime.date.fromisoformat(first["built_on"])
    return {key: _moved(value, by) for key, value in document.items()}


def _moved(value: Any, by: datetime.timedelta) -> Any:
    if isinstance(value, dict):
        return {
            key: _moved_day(below, by)
            if key in _DAY_KEYS and isinstance(below, str)
            else _moved(below, by)
            for key, below in value.items()
        }
    if isinstance(value, list):
        return [_moved(below, by) for below in value]
    return value


def _moved_day(text: str, by: datetime.timedelta) -> str:
    """Move a stated day; a month or a year moves with its middle, and stays as vague as it was."""
    span = read_day(text)
    middle = span.earliest + (span.latest - span.earliest) / 2
    return (middle + by).isoformat()[: len(text)]
