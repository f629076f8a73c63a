"""An estimate of one quantity, with the facts, the arithmetic and the warnings that go with it."""

import datetime
import math
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from maintenance.engine.ageing.estimate import Estimate
from maintenance.engine.working.lines import Line, shown


@dataclass(frozen=True)
class Fact:
    """A figure that an estimate rests on."""

    says: str
    value: int | float | str
    unit: str = ""
    source: str = ""


@dataclass(frozen=True)
class Condition:
    """An estimate of one quantity, or the reason why there is none."""

    quantity: str
    unit: str
    low: float | str | None = None
    central: float | str | None = None
    high: float | str | None = None
    reason: str = ""
    facts: list[Fact] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    source: str = ""
    lines: list[Line] = field(default_factory=list)
    look_for: list[str] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        """Return the estimate in plain values."""
        return {
            "quantity": self.quantity,
            "unit": self.unit,
            "low": self.low,
            "central": self.central,
            "high": self.high,
            "reason": self.reason,
            "facts": [vars(fact) for fact in self.facts],
            "warnings": self.warnings,
            "source": self.source,
            "lines": [_plain(line) for line in self.lines],
            "look_for": self.look_for,
        }


def _plain(line: Line) -> dict[str, Any]:
    value = float(line.value) if isinstance(line.value, Decimal) else line.value
    if isinstance(value, datetime.date):
        value = value.isoformat()
    return vars(line) | {"value": value, "shown": shown(line.value)}


def without_band(
    quantity: str, unit: str, value: float, facts: list[Fact], source: str
) -> Condition:
    """Return a figure that is not estimated: counted or measured."""
    return Condition(quantity, unit, value, value, value, facts=facts, source=source)


def of_estimate(
    quantity: str, estimate: Estimate, places: int, facts: list[Fact], source: str
) -> Condition:
    """Return the last element of an estimate, rounded to some decimals."""
    reason = str(np.atleast_1d(estimate.reason)[-1])
    if reason:
        return Condition(quantity, estimate.unit, reason=reason, facts=facts, source=source)
    low, central, high = (
        round(float(np.atleast_1d(part)[-1]), places)
        for part in (estimate.low, estimate.central, estimate.high)
    )
    if not all(map(math.isfinite, (low, central, high))):
        reason = "a figure of its band is not known"
        return Condition(quantity, estimate.unit, reason=reason, facts=facts, source=source)
    return Condition(quantity, estimate.unit, low, central, high, facts=facts, source=source)
