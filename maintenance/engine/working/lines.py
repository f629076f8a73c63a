"""Lines of a derivation: a fact with its source, or arithmetic on lines above it."""

import datetime
import re
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from maintenance.engine.days import NEVER, NO_DAY, from_day
from maintenance.engine.units import TENTH_MM_PER_KM

Figure = int | Decimal | datetime.date | str | None

_NAME = re.compile(r"[a-z][a-z_0-9]*(?![a-z_0-9(])")


@dataclass(frozen=True)
class Line:
    """One line of a derivation.

    `formula` is empty for a fact; otherwise it is arithmetic on the names of lines above, with
    the functions `add_months`, `earliest` and `latest` (of days, or the lesser and the greater of
    numbers), `root` (square root), `exp`, `log` (natural), `power`, `down` (to a tenth of a
    millimetre, in kilometres) and `share` (days × distance ÷ days, rounded down likewise). A date
    less a date is days. `figures` is the formula with the values put in.
    """

    name: str
    says: str
    value: Figure
    unit: str = ""
    formula: str = ""
    figures: str = ""
    source: str = ""


@dataclass(frozen=True)
class Derivation:
    """How one criterion comes to its day, or why it has none."""

    criterion: str
    due_on: datetime.date | None
    earliest_on: datetime.date | None
    latest_on: datetime.date | None
    lines: tuple[Line, ...]


@dataclass
class Sheet:
    """Lines being written, with the value of each name so far."""

    lines: list[Line] = field(default_factory=list)
    values: dict[str, Figure] = field(default_factory=dict)

    def fact(self, name: str, says: str, value: Figure, unit: str = "", source: str = "") -> None:
        """Write down a fact that the derivation uses."""
        self.values[name] = value
        self.lines.append(Line(name, says, value, unit, source=source))

    def result(
        self, name: str, says: str, formula: str, value: Figure, unit: str = "", source: str = ""
    ) -> None:
        """Write down what follows from lines above."""
        figures = _NAME.sub(self._figure, formula)
        self.values[name] = value
        self.lines.append(Line(name, says, value, unit, formula, figures, source))

    def remark(self, says: str) -> None:
        """Write down what has no figure, such as why there is no date."""
        self.lines.append(Line("", says, None))

    def number(self, name: str) -> Decimal:
        """Return the value of a line that is a number."""
        value = self.values[name]
        if not isinstance(value, int | Decimal):
            raise TypeError(f"{name} is {value!r}, not a number")
        return Decimal(value)

    def _figure(self, match: re.Match[str]) -> str:
        name = match.group()
        return shown(self.values[name]) if name in self.values else name


def shown(value: Figure) -> str:
    """Return a figure as text, without trailing noughts.

    Parameters
    ----------
    value : int, Decimal, date, str or None
        The figure [of any unit].

    Returns
    -------
    str
        As printed in a derivation.

    References
    ----------
    .. [1] ISO 8601-1:2019 for dates.
    """
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, datetime.date):
        return value.isoformat()
    return "none" if value is None else str(value)


def day_or_none(day: int | np.int64) -> datetime.date | None:
    """Return a day of the engine as a date.

    Parameters
    ----------
    day : int
        Days since 1970-01-01 [days], or NO_DAY or NEVER.

    Returns
    -------
    date or None
        None for NO_DAY and NEVER.

    References
    ----------
    .. [1] Common practice.
    """
    return None if day in (NO_DAY, NEVER) else from_day(int(day))


def km(distance: int | np.int64) -> Decimal:
    """Return a distance of the engine in kilometres.

    Parameters
    ----------
    distance : int
        Distance [0.1 mm].

    Returns
    -------
    Decimal
        The same distance [km], exactly.

    References
    ----------
    .. [1] SI prefixes.
    """
    return Decimal(int(distance)) / TENTH_MM_PER_KM
