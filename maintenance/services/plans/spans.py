"""Periods in which nobody works or a thing can't be had."""

import datetime
from collections.abc import Mapping, Sequence

from maintenance.planning.working_calendar import Span


def spans(stored: Sequence[Mapping[str, str]]) -> tuple[Span, ...]:
    """Return stored periods as the planner takes them."""
    day = datetime.date.fromisoformat
    return tuple(Span(day(one["from"]), day(one["to"])) for one in stored)
