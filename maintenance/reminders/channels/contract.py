"""What a channel is to the outbox, and how it says that it failed."""

import datetime
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any, NamedTuple, Protocol

from maintenance.models import Message
from maintenance.reminders.lines import Line

Clock = Callable[[], datetime.datetime]


class TryLater(Exception):
    """The message did not go out this time.

    `unknown` says that it may have arrived all the same; `after` that the other side named a time
    to wait.
    """

    def __init__(
        self, text: str, *, unknown: bool = False, after: datetime.timedelta | None = None
    ) -> None:
        self.unknown, self.after = unknown, after
        super().__init__(text)


class NotDeliverable(Exception):
    """The message will never go out this way, however often it is tried."""


class Over(Exception):
    """What the message is about is over: it is dropped, and nothing has failed."""


class WorkedOff(NamedTuple):
    """What became of rows of a channel's own, in one round."""

    sent: int = 0
    failed: int = 0
    dropped: int = 0


class Channel(Protocol):
    """A way to reach a member."""

    @property
    def slug(self) -> str:
        """Return the name under which members choose the channel."""

    @property
    def for_people(self) -> bool:
        """Say whether quiet hours and digests apply; a program gets each reminder at once."""

    @property
    def settles_itself(self) -> bool:
        """Say whether `send` only queues rows of the channel's own, whose end is the message's."""

    def waits_for(self) -> str:
        """Return what the service lacks to use the channel, empty if nothing."""

    def connection(self) -> AbstractContextManager[Any]:
        """Return what stays open while several messages are sent; `TryLater` if it can't open."""

    def send(self, connection: Any, message: Message, lines: Sequence[Line]) -> None:
        """Send one message with at least one line; `TryLater` or `NotDeliverable` if it can't.

        May be called again for a message of which it is not known whether it arrived: then the
        receiver must be given the same identifier.
        """

    def work_off(self, *, clock: Clock) -> WorkedOff:
        """Send what the channel keeps in rows of its own."""
