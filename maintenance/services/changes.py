"""Keep the feed of changes from growing for ever."""

import datetime

from maintenance.queries.changes import lines_past_their_time


def forget_changes(*, at: datetime.datetime) -> int:
    """Remove the lines of the feed that are past their time; return how many there were."""
    gone, _ = lines_past_their_time(at).delete()
    return gone
