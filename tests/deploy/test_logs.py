"""Logs: one JSON object a line, and nothing in it that names a person or opens a door."""

import io
import json
import logging

import pytest

from deploy.logs import logging_config


@pytest.fixture
def logged():
    """Writes one line through the formatter of the service and returns it."""
    formatter = logging_config("INFO")["formatters"]["json"]
    make = formatter.pop("()")
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(make(**formatter))

    def log(text, *arguments, **more):
        logger = logging.getLogger("tests.logs")
        logger.addHandler(handler)
        logger.critical(text, *arguments, **more)
        logger.removeHandler(handler)
        return json.loads(out.getvalue())

    return log


def test_a_line_is_one_object_with_time_level_and_logger(logged):
    line = logged("the fluid was %s", "renewed")
    assert line["event"] == "the fluid was renewed"
    assert (line["level"], line["logger"]) == ("critical", "tests.logs")
    assert line["timestamp"].endswith("Z")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("550 <ines.valbom@harrowmere.example> unknown", "550 <<address>> unknown"),
        ("Bearer idle_Zm9vYmFy", "Bearer <token>"),
        ("GET /api/v1/unsubscribe/0193-email.abc", "GET /api/v1/unsubscribe/<secret>"),
        ("GET /api/calendar/s3cret.ics", "GET /api/calendar/<secret>"),
        ("Not Found: /invitations/s3cret", "Not Found: /invitations/<secret>"),
        ("GET /new-password/MQ/c9x-s3cret", "GET /new-password/<secret>"),
        ("DETAIL: Key (name)=(Ines Valbom) exists", "DETAIL: <row>"),
    ],
)
def test_what_names_a_person_or_opens_a_door_is_taken_out(logged, text, shown):
    assert logged(text)["event"] == shown


def test_a_traceback_is_scrubbed_as_well(logged):
    try:
        raise ValueError("no box for ines.valbom@harrowmere.example")
    except ValueError:
        line = logged("it broke", exc_info=True)
    assert "ValueError: no box for <address>" in line["exception"]
