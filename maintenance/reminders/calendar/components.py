"""Due items as calendar components (RFC 5545), through the icalendar library."""

import datetime
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from icalendar import Alarm, Calendar, Component, Event, Timezone, Todo
from icalendar.prop import vDuration, vText

from maintenance.reminders.calendar.wording import Words

PRODUCT = "-//Idle Years//Due items//EN"
#: RFC 5545, section 3.8.1.9: 1 is the highest priority, 9 the lowest.
PRIORITIES = {"safety": 1, "reliability": 5, "appearance": 9}
ALARM_AT = datetime.timedelta(hours=9)
"""An alarm sounds at nine in the morning and not at midnight, where all-day events begin."""
_REFRESH = datetime.timedelta(hours=12)
_LAST_LINE = "END:VCALENDAR\r\n"
_HERE = "here"


@dataclass(frozen=True)
class Edition:
    """Which revision of an entry is shown."""

    uid: uuid.UUID
    sequence: int
    created: datetime.datetime
    changed: datetime.datetime


class Texts(NamedTuple):
    """An entry as kept: without its alarms and last line, which depend on the feed.

    `event` is empty where there is no day, `alarm` where none is to sound.
    """

    event: str
    todo: str
    alarm: str


def texts_of(words: Words, edition: Edition) -> Texts:
    """Return the texts of an entry; what both forms share, most of it, is written once."""
    shared = _inside(_shared(words, edition))
    event = _open(_event(words.day)) + shared if words.day else ""
    alarm = alarm_line(words.summary) if words.alarm else ""
    return Texts(event, _open(_todo(words.day)) + shared, alarm)


def cancelled(text: str, *, sequence: int, at: datetime.datetime) -> str:
    """Return the text of an entry as kept, called off and otherwise as it was last shown."""
    if not text:
        return ""
    kind = Event if text.startswith("BEGIN:VEVENT") else Todo
    component = kind.from_ical(text + f"END:{kind.name}\r\n")
    for name, value in (
        ("SEQUENCE", sequence),
        ("DTSTAMP", at),
        ("LAST-MODIFIED", at),
        ("STATUS", "CANCELLED"),
    ):
        del component[name]
        component.add(name, value)
    return _open(component)


def alarm_line(summary: str) -> str:
    """Return what an alarm says, as a line of the calendar, folded where it is long."""
    alarm = Alarm()
    alarm.add("DESCRIPTION", summary)
    return _inside(alarm)


def alarms(lead_times: Iterable[int], form: str) -> list[str]:
    """Return one alarm for each lead time [days], in pieces to be joined by an `alarm_line`.

    Writing the alarms of two thousand entries one by one takes a second, joining them none.
    """
    # A to-do has no start: its alarms count back from the day it is due (section 3.8.6.3).
    related = {"RELATED": "END"} if form == "todos" else {}
    text = ""
    for days in lead_times:
        alarm = Alarm()
        alarm.add("ACTION", "DISPLAY")
        alarm.add("DESCRIPTION", _HERE)
        alarm.add("TRIGGER", ALARM_AT - datetime.timedelta(days=days), parameters=related)
        text += _text(alarm)
    return text.split(f"DESCRIPTION:{_HERE}\r\n")


def calendar(*, name: str, uid: uuid.UUID) -> tuple[str, str]:
    """Return what comes before and after the entries of a calendar."""
    outer = Calendar()
    outer.add("VERSION", "2.0")
    outer.add("PRODID", PRODUCT)
    outer.add("UID", str(uid))
    # As text, which the library takes neither of the two for: names hold commas (section 3.3.11).
    outer.add("NAME", vText(name))
    outer.add("X-WR-CALNAME", vText(name))
    # RFC 7986, section 5.7; the second is the older name of the same.
    outer.add("REFRESH-INTERVAL", vDuration(_REFRESH), parameters={"VALUE": "DURATION"})
    outer.add("X-PUBLISHED-TTL", vDuration(_REFRESH))
    return _text(outer).removesuffix(_LAST_LINE), _LAST_LINE


def last_line(form: str) -> str:
    """Return the line that ends an entry as kept."""
    return "END:VTODO\r\n" if form == "todos" else "END:VEVENT\r\n"


def filler() -> str:
    """Return the component of a calendar that has no entry: it must have one (section 3.6)."""
    return _text(Timezone.from_tzid("UTC"))


def _event(day: datetime.date) -> Event:
    event = Event()
    # One day, and no DTEND: the event ends with the day it begins (section 3.6.1).
    event.add("DTSTART", day)
    event.add("TRANSP", "TRANSPARENT")
    event.add("STATUS", "CONFIRMED")
    return event


def _todo(day: datetime.date | None) -> Todo:
    todo = Todo()
    if day:
        todo.add("DUE", day)
    todo.add("STATUS", "NEEDS-ACTION")
    return todo


def _shared(words: Words, edition: Edition) -> Component:
    component = Event()
    component.add("UID", str(edition.uid))
    component.add("SEQUENCE", edition.sequence)
    # Without METHOD this is the instant of the last revision (section 3.8.7.2): programs that
    # see it move take the entry for changed.
    component.add("DTSTAMP", edition.changed)
    component.add("LAST-MODIFIED", edition.changed)
    component.add("CREATED", edition.created)
    component.add("SUMMARY", words.summary)
    component.add("DESCRIPTION", words.description)
    component.add("CATEGORIES", [words.criticality])
    component.add("PRIORITY", PRIORITIES[words.criticality])
    if words.address:
        component.add("URL", words.address)
    return component


def _text(component: Component) -> str:
    text: str = component.to_ical().decode("utf-8")
    return text


def _open(component: Component) -> str:
    return _text(component).removesuffix(f"END:{component.name}\r\n")


def _inside(component: Component) -> str:
    return _open(component).removeprefix(f"BEGIN:{component.name}\r\n")
