"""Calendar entries against RFC 5545 (iCalendar), read octet by octet and by the rules it states.

Clauses: 3.1 (lines, folding), 3.3.11 (escaping), 3.6.1 (an event without end lasts its day),
3.8.7.2 and 3.8.7.4 (DTSTAMP, SEQUENCE); RFC 7986, 5.3 (UID).
"""

import datetime
import re
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.reminders.calendar.components import (
    Edition,
    alarm_line,
    alarms,
    calendar,
    cancelled,
    filler,
    last_line,
    texts_of,
)
from maintenance.reminders.calendar.wording import Words

AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
LATER = datetime.datetime(2026, 12, 1, 7, 0, 5, tzinfo=datetime.UTC)
UID = uuid.UUID("7d0c7d4e-3b1a-4d6f-9a51-64f5b0a2c9d3")


def words(**given):
    usual = {
        "summary": "HM 7: brake fluid renewal",
        "description": "Due.",
        "day": datetime.date(2007, 6, 28),
        "criticality": "safety",
        "address": "",
        "alarm": True,
    }
    return Words(**usual | given)


def edition(sequence=0, changed=AT):
    return Edition(uid=UID, sequence=sequence, created=AT, changed=changed)


def whole(words, form="events", lead_times=()):
    """Return a calendar of one entry in octets, put together as a feed does."""
    texts = texts_of(words, edition())
    entry = texts.todo if form == "todos" else texts.event
    before, after = calendar(name="Due", uid=UID)
    pieces = alarms(lead_times, form)
    return (before + entry + texts.alarm.join(pieces) + last_line(form) + after).encode()


def unfolded(content):
    """Take a calendar apart by 3.1: CRLF and one blank or tab are taken out, the rest are lines."""
    assert content.endswith(b"\r\n")
    lines = content.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").split(b"\r\n")
    return [line.decode("utf-8") for line in lines[:-1]]


def value_of(content, name):
    (line,) = [line for line in unfolded(content) if re.match(rf"{name}[;:]", line)]
    return line.partition(":")[2]


def unescaped(text):
    """Read a TEXT value by 3.3.11."""
    plain = {"\\\\": "\\", "\\;": ";", "\\,": ",", "\\n": "\n", "\\N": "\n"}
    return re.sub(r"\\[\\;,nN]", lambda found: plain[found[0]], text)


LONG = "Bremsflüssigkeit, vorn – 3 % Wasser; Siedepunkt 145 °C \\ Grenze 140 °C. " * 8


@pytest.mark.parametrize("form", ["events", "todos"])
def test_no_line_is_longer_than_75_octets(form):
    content = whole(words(summary=LONG, description=LONG), form, [60, 0])

    assert max(len(line) for line in content.split(b"\r\n")) <= 75


def test_lines_end_with_a_carriage_return_and_a_line_feed():
    content = whole(words(description="one\ntwo"))

    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")


def test_no_character_is_cut_in_two_by_a_fold():
    """3.1 lets a fold fall between octets of one character; programs that read lines then fail."""
    content = whole(words(summary="ü€𝄞" * 60))

    for line in content.split(b"\r\n"):
        line.decode("utf-8")


def test_a_folded_line_goes_on_after_one_blank():
    content = whole(words(description=LONG))

    folded = [line for line in content.split(b"\r\n") if line.startswith(b" ")]
    assert folded
    assert unescaped(value_of(content, "DESCRIPTION")) == LONG


def test_a_text_is_escaped_as_in_the_standards_own_example():
    """3.3.11: "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."."""
    content = whole(
        words(description="Project XYZ Final Review\nConference Room - 3B\nCome Prepared.")
    )

    said = value_of(content, "DESCRIPTION")
    assert said == "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), min_size=1))
def test_any_text_is_read_back_as_it_was_written(text):
    content = whole(words(description=text))

    assert unescaped(value_of(content, "DESCRIPTION")) == text


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), min_size=1))
def test_any_name_of_a_calendar_is_read_back_as_it_was_written(name):
    content = "".join(calendar(name=name, uid=UID)).encode()

    shown = [unescaped(value_of(content, line)) for line in ("NAME", "X-WR-CALNAME")]
    assert shown == [name, name]


@given(st.text(max_size=200))
def test_no_text_can_begin_a_line_of_its_own(text):
    """Whatever a registration mark holds, it adds no property and no component."""
    plain, odd = whole(words(summary="x")), whole(words(summary=text or "x"))

    names = [re.split("[:;]", line)[0] for line in unfolded(odd)]
    assert names == [re.split("[:;]", line)[0] for line in unfolded(plain)]


def test_an_all_day_event_without_an_end_is_the_one_day_it_begins():
    content = whole(words(day=datetime.date(2007, 6, 28)))

    assert "DTSTART;VALUE=DATE:20070628" in unfolded(content)
    assert b"DTEND" not in content and b"DURATION" not in content.partition(b"BEGIN:VEVENT")[2]


def test_a_calendar_names_its_version_and_product_and_no_method():
    lines = unfolded(whole(words()))

    assert lines[0] == "BEGIN:VCALENDAR" and lines[-1] == "END:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert len([line for line in lines if line.startswith("PRODID:")]) == 1
    assert not [line for line in lines if line.startswith("METHOD")]


def test_every_event_has_the_properties_that_it_must_have():
    content = whole(words())

    assert value_of(content.partition(b"BEGIN:VEVENT")[2], "UID") == str(UID)
    assert value_of(content, "DTSTAMP") == "20261125T093000Z"
    assert value_of(content, "SEQUENCE") == "0"


def test_an_alarm_that_is_shown_has_action_trigger_and_description():
    lines = unfolded(whole(words(), lead_times=[7]))

    alarm = lines[lines.index("BEGIN:VALARM") + 1 : lines.index("END:VALARM")]
    assert sorted(alarm) == [
        "ACTION:DISPLAY",
        "DESCRIPTION:HM 7: brake fluid renewal",
        "TRIGGER:-P6DT15H",
    ]


def test_a_cancelled_event_keeps_its_text_and_says_when_it_was_cancelled():
    text = texts_of(words(description=LONG), edition()).event

    after = (cancelled(text, sequence=1, at=LATER) + "END:VEVENT\r\n").encode()

    assert value_of(after, "STATUS") == "CANCELLED"
    assert value_of(after, "SEQUENCE") == "1"
    assert value_of(after, "DTSTAMP") == value_of(after, "LAST-MODIFIED") == "20261201T070005Z"
    assert value_of(after, "CREATED") == "20261125T093000Z"
    assert unescaped(value_of(after, "DESCRIPTION")) == LONG
    assert value_of(after, "UID") == str(UID)


def test_a_calendar_without_entries_still_has_a_component():
    """3.6: there must be at least one."""
    before, after = calendar(name="Due", uid=UID)

    lines = unfolded((before + filler() + after).encode())

    assert lines.count("BEGIN:VTIMEZONE") == lines.count("END:VTIMEZONE") == 1


def test_what_an_alarm_says_is_folded_like_any_line():
    line = alarm_line(LONG).encode()

    assert max(map(len, line.split(b"\r\n"))) <= 75
    assert unescaped(value_of(line, "DESCRIPTION")) == LONG
