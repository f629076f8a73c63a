"""How long to wait before a message is tried again, and when to stop trying.

Full jitter: a wait drawn evenly between nothing and a bound that doubles with each failure, so
that what failed together does not come back together (common practice).
"""

import datetime
import random
from typing import Final

FIRST_BOUND: Final = datetime.timedelta(minutes=1)
LAST_BOUND: Final = datetime.timedelta(hours=4)
GIVE_UP_AFTER: Final = datetime.timedelta(days=5)
"""RFC 5321, section 4.5.4.1: the give-up time generally needs to be at least 4 to 5 days."""

# Not for secrets; a generator of its own, which no test of something else has seeded.
_random = random.Random()


def bound(failures: int) -> datetime.timedelta:
    """Return the longest wait after so many failures, from 1."""
    # Beyond this many doublings the bound stands anyway, and the power would overflow.
    return min(LAST_BOUND, FIRST_BOUND * (1 << min(failures - 1, 20)))


def wait(failures: int) -> datetime.timedelta:
    """Return a wait with full jitter after so many failures, from 1."""
    return bound(failures) * _random.random()


def given_up(first_tried_at: datetime.datetime, at: datetime.datetime) -> bool:
    """Say whether a message has been tried for long enough."""
    return at - first_tried_at >= GIVE_UP_AFTER
