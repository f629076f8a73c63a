"""Preparations for a lay-up: what each truly changes, and why.

A preparation may take away part of what a store adds to a part's ageing. It never takes a factor
below 1: a well prepared car still ages by the calendar.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from maintenance.engine.ageing.factors import LayUpFactor, Step, in_hundredths


@dataclass(frozen=True)
class Effect:
    """What a preparation does to one mechanism.

    Attributes
    ----------
    mechanism : str
        Slug of the mechanism.
    excess_left : float
        Share of what the store adds above 1 that is left, 0 to 1 [1].
    kinds : tuple of str
        Component kinds it reaches; empty for every kind with the mechanism.
    reason : str
        Why, in a sentence.
    source : str
        Where that comes from.
    """

    mechanism: str
    excess_left: float
    kinds: tuple[str, ...]
    reason: str
    source: str


@dataclass(frozen=True)
class StateEffect:
    """What a preparation does to the estimate of a part's state.

    Attributes
    ----------
    mechanism, kind : str
        Slug of the mechanism; slug of the component kind whose estimate it is.
    quantity : str
        Which estimate it changes.
    says : str
        How, in a sentence.
    """

    mechanism: str
    kind: str
    quantity: str
    says: str


@dataclass(frozen=True)
class Preparation:
    """Something done to a car before or while it stands.

    Attributes
    ----------
    slug, name : str
        Slug and plain words.
    effects : tuple of Effect
        Changes of lay-up factors; empty where it changes none.
    estimates : tuple of StateEffect
        What it changes in an estimate of a part's state.
    leaves : str
        What it does not change, so that nobody relies on it.
    """

    slug: str
    name: str
    effects: tuple[Effect, ...]
    estimates: tuple[StateEffect, ...]
    leaves: str


_COMMON = "common practice"
_WORKED_BY_MOVING = (
    "brake-caliper",
    "wheel-cylinder",
    "master-cylinder",
    "handbrake-cable",
    "clutch-plate",
    "clutch-cable",
    "clutch-master-cylinder",
    "clutch-slave-cylinder",
)


PREPARATIONS = {
    preparation.slug: preparation
    for preparation in (
        Preparation(
            "fresh-brake-fluid",
            "brake and clutch fluid renewed before standing",
            (),
            (
                StateEffect(
                    "moisture",
                    "brake-fluid",
                    "water_content",
                    "the water content starts at nothing on that day",
                ),
            ),
            "fresh fluid takes up water as fast as before: the factor and the limit stay",
        ),
        Preparation(
            "fresh-coolant",
            "coolant renewed before standing",
            (),
            (
                StateEffect(
                    "coolant",
                    "coolant",
                    "freezing_point",
                    "a freezing point measured before that day no longer counts",
                ),
            ),
            "inhibitors are used up from that day on: the factor stays",
        ),
        Preparation(
            "fresh-engine-oil",
            "engine oil renewed before standing",
            (
                Effect(
                    "oil",
                    0.5,
                    ("engine-oil",),
                    "fresh oil brings no acid and water of its own into the store",
                    _COMMON,
                ),
            ),
            (),
            "its time limit still runs",
        ),
        Preparation(
            "full-tank",
            "tank filled to the neck",
            (
                Effect(
                    "fuel",
                    0.5,
                    ("fuel",),
                    "little air is left above the petrol",
                    _COMMON,
                ),
                Effect(
                    "steel_corrosion",
                    0.5,
                    ("fuel-tank",),
                    "a full tank leaves little bare steel for water to condense on",
                    _COMMON,
                ),
            ),
            (),
            "petrol still goes stale within its months, and a full tank is more to burn",
        ),
        Preparation(
            "drained-tank",
            "tank and fuel lines emptied",
            (Effect("fuel", 0.0, ("fuel",), "there is no petrol to go stale", _COMMON),),
            (
                StateEffect(
                    "fuel",
                    "fuel",
                    "petrol_keeps_until",
                    "no keeping time runs until the tank is filled",
                ),
            ),
            "the tank's bare steel rusts, and an emptied tank is full of explosive vapour",
        ),
        Preparation(
            "battery-maintainer",
            "battery on a maintainer",
            (
                Effect(
                    "self_discharge",
                    0.0,
                    ("battery",),
                    "the maintainer gives back what self-discharge takes",
                    _COMMON,
                ),
            ),
            (
                StateEffect(
                    "self_discharge",
                    "battery",
                    "charge",
                    "the battery stays charged while the maintainer works; look monthly",
                ),
            ),
            "the battery's age, its acid level and a failed maintainer",
        ),
        Preparation(
            "battery-removed",
            "battery taken out and stored apart",
            (),
            (
                StateEffect(
                    "self_discharge",
                    "battery",
                    "charge",
                    "the climate is that of where the battery stands",
                ),
            ),
            "it discharges on the shelf and is checked every 30 days all the same",
        ),
        Preparation(
            "tyres-over-inflated",
            "tyres pumped up for standing",
            (),
            (
                StateEffect(
                    "tyre",
                    "tyre",
                    "flat_spots_from",
                    "flat spots come later, by an amount for which there is no figure",
                ),
            ),
            "the rubber's ageing; put the pressure right before the car moves",
        ),
        Preparation(
            "off-the-ground",
            "car on stands, wheels hanging free",
            (),
            (
                StateEffect(
                    "tyre", "tyre", "flat_spots_from", "no flat spots, the tyres carry no load"
                ),
            ),
            "the rubber's ageing; hanging suspension stretches its bushes and boots",
        ),
        Preparation(
            "engine-inhibited",
            "cylinders and fuel system treated with inhibitor oil",
            (
                Effect(
                    "oil",
                    0.5,
                    ("engine-oil",),
                    "inhibitor oil keeps water off bores and bearings",
                    _COMMON,
                ),
                Effect(
                    "steel_corrosion",
                    0.5,
                    ("engine",),
                    "inhibitor oil covers bores, rings and valves",
                    _COMMON,
                ),
            ),
            (),
            "the oil's time limit; turn the engine by hand and burn the inhibitor off before use",
        ),
        Preparation(
            "moved-monthly",
            "car moved, brakes, clutch and handbrake worked, once a month",
            (
                Effect(
                    "seizure",
                    0.5,
                    _WORKED_BY_MOVING,
                    "parts that move each month have less time to stick",
                    _COMMON,
                ),
            ),
            (
                StateEffect(
                    "tyre",
                    "tyre",
                    "flat_spots_from",
                    "flat spots are counted from the last move",
                ),
            ),
            "a short move charges no battery and dries no exhaust: it makes both worse",
        ),
    )
}


def with_preparations(factor: LayUpFactor, kind: str, preparations: Iterable[str]) -> LayUpFactor:
    """Take off a lay-up factor what the preparations take away.

    Parameters
    ----------
    factor : LayUpFactor
        The store's factor for one mechanism.
    kind : str
        Slug of the component kind.
    preparations : iterable of str
        Slugs of what was done.

    Returns
    -------
    LayUpFactor
        Still at least 1, never more than before, each preparation a line of the derivation [1],
        those too that leave the factor as it was.

    Raises
    ------
    ValueError
        If a preparation is not known.

    Notes
    -----
    Valid for any factor. Of several preparations on one mechanism the strongest counts, once: they
    do the same work.

    References
    ----------
    .. [1] Shares: common practice, each with its reason.
    """
    done = [preparation_of(slug) for slug in sorted(set(preparations))]
    found = [
        (preparation, effect)
        for preparation in done
        for effect in preparation.effects
        if effect.mechanism == factor.mechanism and (not effect.kinds or kind in effect.kinds)
    ]
    steps = [*factor.steps, *_left_as_it_was(factor, done, [each for each, _ in found])]
    if not found:
        return replace(factor, steps=tuple(steps))
    preparation, effect = min(found, key=lambda pair: pair[1].excess_left)
    ratio = 1.0 + (factor.hundredths / 100.0 - 1.0) * effect.excess_left
    steps += (
        Step(
            f"{preparation.name}: {effect.reason}; share of the excess that is left",
            effect.excess_left,
            "1",
            effect.source,
        ),
        Step("1 + (factor − 1) × share", ratio, "1", ""),
    )
    return replace(factor, hundredths=in_hundredths(ratio), steps=tuple(steps))


def _left_as_it_was(
    factor: LayUpFactor, done: Iterable[Preparation], applied: Iterable[Preparation]
) -> Iterator[Step]:
    """Say of preparations that bear on the mechanism's estimates alone why the factor stays."""
    for preparation in done:
        bears = any(each.mechanism == factor.mechanism for each in preparation.estimates)
        if bears and preparation not in applied:
            says = f"{preparation.name}: {preparation.leaves}; times"
            yield Step(says, 1.0, "1", _COMMON)


def preparation_of(slug: str) -> Preparation:
    """Find a preparation by its slug.

    Parameters
    ----------
    slug : str
        Slug of the preparation [no unit].

    Returns
    -------
    Preparation
        What it changes, and why.

    Raises
    ------
    ValueError
        If it is not known.

    References
    ----------
    .. [1] Common practice.
    """
    if slug not in PREPARATIONS:
        raise ValueError(f"preparation {slug!r} is not known; use one of {', '.join(PREPARATIONS)}")
    return PREPARATIONS[slug]
