"""The lay-up factor: what one day in a store counts, and the lines that show how it came about."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from maintenance.engine.ageing.climate import (
    REFERENCE_GRADE,
    StoreClimate,
    as_climate,
    grade_climate,
)
from maintenance.engine.ageing.estimate import FloatArray

Rate = Callable[[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True)
class RateLaw:
    """How fast a mechanism works in air of a temperature and humidity.

    Attributes
    ----------
    mechanism : str
        Slug of the mechanism.
    rate : callable
        Rate from temperature [°C] and humidity [%RH], in `unit`, positive and never nan.
    text, source, unit : str
        What the rate is, where its formula comes from, and its unit.
    outdoors_factor : float
        Stated separately for sun, ozone and rain, used outdoors only [1].
    outdoors_text : str
        What the outdoors factor stands for.
    reference : StoreClimate
        Where the ordinary interval is assumed to be spent: the dry unheated store unless given.
    """

    mechanism: str
    rate: Rate
    text: str
    source: str
    unit: str = "1"
    outdoors_factor: float = 1.0
    outdoors_text: str = ""
    reference: StoreClimate = field(default_factory=lambda: grade_climate(REFERENCE_GRADE))


@dataclass(frozen=True)
class Step:
    """One line of the derivation: what, how much, in which unit, from where."""

    text: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class LayUpFactor:
    """What a day in the store counts against a time limit.

    Attributes
    ----------
    mechanism, store : str
        Slug of the mechanism; name of the grade or record.
    hundredths : int
        The factor in hundredths, 100 or more.
    steps : tuple of Step
        The derivation, the last line being the ratio before it is rounded up.
    """

    mechanism: str
    store: str
    hundredths: int
    steps: tuple[Step, ...]

    @property
    def value(self) -> Decimal:
        """The factor with two decimals [days counted a day]."""
        return Decimal(self.hundredths) / 100


def in_hundredths(ratio: float) -> int:
    """Round a factor up to two decimals and never below one.

    Parameters
    ----------
    ratio : float
        Ageing in the store over ageing in the reference store [1].

    Returns
    -------
    int
        Hundredths [1/100 day counted a day], at least 100.

    Raises
    ------
    ValueError
        If the ratio is not finite.

    Notes
    -----
    Valid for any finite ratio. Rounding up keeps the date early; a millionth is forgiven so that a
    ratio of exactly 1.34 stays 1.34.

    References
    ----------
    .. [1] Common practice: storage never lengthens a limit.
    """
    if not math.isfinite(ratio):
        raise ValueError(f"a lay-up factor of {ratio} is no number")
    return max(100, math.ceil(ratio * 100.0 - 1e-6))


def compared_with_reference(law: RateLaw, store: str | StoreClimate) -> LayUpFactor:
    """Divide the rate in a store by the mean rate in the law's reference store.

    Parameters
    ----------
    law : RateLaw
        The mechanism's rate, from °C and %RH.
    store : str or StoreClimate
        Storage grade or climate.

    Returns
    -------
    LayUpFactor
        At least 1, two decimals, with its derivation [1].

    Raises
    ------
    ValueError
        If the storage grade is not known.

    Notes
    -----
    Valid wherever the law is. The factor of the reference itself is 1. A grade has one factor for
    any day of its year, from the yearly mean. A measured day counts by itself, and at least one:
    a dry day ages nothing back that a damp day has aged.

    References
    ----------
    .. [1] Choice of the reference: common practice.
    """
    climate, usual = as_climate(store), law.reference
    rate = law.rate(climate.temperature_c, climate.humidity)
    there = usual.mean(law.rate(usual.temperature_c, usual.humidity))
    steps = [
        Step(f"{law.text}, {role}: {place.name}", mean, law.unit, f"{law.source}; {place.source}")
        for role, place, mean in (
            ("store", climate, climate.mean(rate)),
            ("reference store", usual, there),
        )
    ]
    if climate.day.size:
        least = _each_day_at_least_one(climate, rate / there)
        says = "mean of each day's store ÷ reference, no day below 1"
        steps.append(Step(says, least, "1", climate.source))
    else:
        least = max(1.0, climate.mean(rate) / there)
    exposure = law.outdoors_factor if climate.outdoors else 1.0
    if climate.outdoors and law.outdoors_text:
        steps.append(Step(law.outdoors_text, exposure, "1", "common practice"))
    # A cold store earns nothing that could pay for sun and ozone: the floor comes first.
    ratio = least * exposure
    whole = "that mean" if climate.day.size else "the greater of store ÷ reference and 1"
    steps.append(Step(f"{whole}, times any exposure", ratio, "1", ""))
    return LayUpFactor(law.mechanism, climate.name, in_hundredths(ratio), tuple(steps))


def _each_day_at_least_one(climate: StoreClimate, ratio: FloatArray) -> float:
    """Average the ratios of a measured climate, each day's readings first and then the days."""
    _, row_day = np.unique(climate.day, return_inverse=True)
    weight = np.bincount(row_day, weights=climate.weight_days)
    by_day = np.bincount(row_day, weights=climate.weight_days * ratio) / weight
    return float(np.average(np.maximum(by_day, 1.0), weights=weight))
