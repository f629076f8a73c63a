"""How a service says no: every field at fault, what was got there and what to do about it."""

from collections.abc import Iterable
from typing import NamedTuple


class Problem(NamedTuple):
    """One thing wrong with what was asked.

    `pointer` is a JSON pointer (RFC 6901) into the request or file; empty for it as a whole.
    """

    pointer: str
    message: str

    def under(self, prefix: str) -> "Problem":
        """Return the problem as seen from further up, where `prefix` leads to its record."""
        return Problem(prefix + self.pointer, self.message)

    def __str__(self) -> str:
        return f"{self.pointer}: {self.message}" if self.pointer else self.message


class Refused(Exception):
    """A service refuses; nothing was written."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("; ".join(map(str, self.problems)))


class Outdated(Exception):
    """The row was changed by someone else since the caller read it; nothing was written."""

    def __init__(self, *, expected: int, found: int) -> None:
        self.expected = expected
        self.found = found
        super().__init__(
            f"this was version {expected} when it was read and is version {found} now; "
            "read it again and repeat the change"
        )


def refuse_if_any(problems: Iterable[Problem]) -> None:
    """Raise `Refused` where there is any problem."""
    found = list(problems)
    if found:
        raise Refused(found)
