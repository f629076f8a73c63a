"""Put the entries of a calendar file on a CalDAV server and print what the server then has.

Run with the Python of the environment that `tests/caldav.lock` describes: the client library
brings a replacement of a package that the rest of the tests need as it is.

Usage: caldav_client.py SERVER_ADDRESS CALENDAR_FILE
"""

import json
import sys
from pathlib import Path

from caldav import DAVClient, Event, Todo
from icalendar import Calendar


def main(server, file):
    """Print the objects that are on the server, each with what a calendar program shows of it."""
    principal = DAVClient(url=server, username="keeper", password="keeper").principal()
    calendar = next(iter(principal.calendars()), None) or principal.make_calendar(name="cars")
    for entry in Calendar.from_ical(Path(file).read_bytes()).subcomponents:
        one = Calendar()
        one.add("VERSION", "2.0")
        one.add("PRODID", "-//tests//client//EN")
        one.add_component(entry)
        kind = Event if entry.name == "VEVENT" else Todo
        resource = kind(calendar.client, data=one.to_ical().decode(), parent=calendar)
        # The revision is the feed's to count, not the client's.
        resource.save(increase_seqno=False)
    # Searching has the server itself read what it stores.
    found = [*calendar.events(), *calendar.todos(include_completed=True)]
    print(json.dumps([shown(each.icalendar_component) for each in found]))


def shown(entry):
    """Return what a calendar program shows of an entry."""
    day = entry.get("DTSTART") or entry.get("DUE")
    return {
        "kind": entry.name,
        "uid": str(entry["UID"]),
        "summary": str(entry["SUMMARY"]),
        "description": str(entry["DESCRIPTION"]),
        "day": day and day.dt.isoformat(),
        "status": str(entry["STATUS"]),
        "sequence": int(entry["SEQUENCE"]),
        "alarms": [str(alarm["TRIGGER"].to_ical(), "ascii") for alarm in entry.walk("VALARM")],
    }


if __name__ == "__main__":
    main(*sys.argv[1:])
