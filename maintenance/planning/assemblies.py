"""Part by part, or the whole assembly: which is cheaper, and which can be had at all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from maintenance.planning.build_rules import AssemblyRule
from maintenance.planning.demands import money
from maintenance.planning.jobs import CRITICALITIES, Job, Part
from maintenance.planning.rules import JobRules
from maintenance.planning.selectors import SAME_POSITION, positions_meet
from maintenance.planning.wanted import Fitted, Offers, Wanted

RENEW = "renew"


@dataclass(frozen=True, slots=True)
class AssemblyChoice:
    """Whether an assembly is bought in place of its pieces, and why.

    Parameters
    ----------
    assembly, position : str
        Kind and place of the assembly.
    chosen : bool
        Whether it is bought.
    pieces_cost, assembly_cost : int
        Parts and labour either way [minor units].
    only_way : bool
        Whether a piece can't be had by itself.
    words : str
        The choice as a sentence.

    References
    ----------
    .. [1] Common practice.
    """

    assembly: str
    position: str
    chosen: bool
    pieces_cost: int
    assembly_cost: int
    only_way: bool
    words: str


@dataclass(frozen=True, slots=True)
class _Prices:
    """What pieces and assemblies cost with their labour."""

    rules: JobRules
    offers: Offers
    rate: int

    def parts(self, item: Wanted) -> tuple[Part, ...]:
        return item.parts or self.offers.get((item.kind, item.position), ())

    def of(self, item: Wanted) -> int:
        standard = self.rules.standard(item.kind, item.task).hours
        hours = standard if item.hours is None else item.hours
        bought = sum(part.total for part in self.parts(item))
        return bought + item.cost + round(hours * self.rate)


def choose_assemblies(
    wanted: Sequence[Wanted],
    rules: JobRules,
    offers: Offers,
    rate_per_hour: int = 0,
    fitted: Sequence[Fitted] = (),
) -> tuple[tuple[Wanted, ...], tuple[AssemblyChoice, ...]]:
    """Replace pieces by their assembly where that is cheaper or the only way.

    Parameters
    ----------
    wanted : sequence of Wanted
        What is to be done.
    rules : JobRules
        Which assembly brings which pieces, and the standard hours.
    offers : mapping of (kind, position) to tuple of Part
        What can be bought. A piece whose parts are all `available` can be had by itself.
    rate_per_hour : int
        What an hour of work is worth [minor units per h].
    fitted : sequence of Fitted
        Components of the car with the assemblies that they are parts of.

    Returns
    -------
    tuple of Wanted, tuple of AssemblyChoice
        The new list, and each choice that came up. An assembly that is wanted in its own right
        takes its pieces with it.

    Notes
    -----
    Rules are applied in their order; a piece goes to the first assembly that takes it. A tie goes
    to the pieces.

    References
    ----------
    .. [1] Common practice.
    """
    left = list(wanted)
    choices: list[AssemblyChoice] = []
    for rule in rules.assemblies:
        for position in _positions(left, rule, offers):
            pieces = [
                item
                for item in left
                if item.task == RENEW and is_piece(item, rule, position, fitted)
            ]
            if pieces:
                prices = _Prices(rules, offers, rate_per_hour)
                left = _choose(left, pieces, rule, position, prices, fitted, choices)
    return tuple(left), tuple(choices)


def _positions(left: Sequence[Wanted], rule: AssemblyRule, offers: Offers) -> list[str]:
    offered = [position for kind, position in offers if kind == rule.assembly]
    own = [item.position for item in left if (item.kind, item.task) == (rule.assembly, RENEW)]
    return list(dict.fromkeys([*own, *offered]))


def is_piece(
    item: Wanted | Job, rule: AssemblyRule, position: str, fitted: Sequence[Fitted]
) -> bool:
    """Whether what is worked on comes new with an assembly.

    Parameters
    ----------
    item : Wanted or Job
        Work on some component.
    rule : AssemblyRule
        What the assembly brings.
    position : str
        Place of the assembly.
    fitted : sequence of Fitted
        Components of the car with the assemblies that they are parts of.

    Returns
    -------
    bool
        True for a part of that assembly on record; where none is on record, for one at its place.

    References
    ----------
    .. [1] Common practice.
    """
    if item.kind not in rule.brings:
        return False
    known = {one.component: one for one in fitted}
    within = [one for one in _around(item.component, known) if one.kind == rule.assembly]
    if within:
        return any(one.position == position for one in within)
    return positions_meet(SAME_POSITION, item.position, position)


def _around(component: str, known: Mapping[str, Fitted]) -> list[Fitted]:
    """Assemblies that a component is a part of, the innermost first."""
    found: list[Fitted] = []
    while component in known and (outer := known.get(known[component].assembly)) is not None:
        if outer in found:
            break
        found.append(outer)
        component = outer.component
    return found


def _choose(
    left: Sequence[Wanted],
    pieces: Sequence[Wanted],
    rule: AssemblyRule,
    position: str,
    prices: _Prices,
    fitted: Sequence[Fitted],
    choices: list[AssemblyChoice],
) -> list[Wanted]:
    own = [w for w in left if (w.kind, w.task, w.position) == (rule.assembly, RENEW, position)]
    whole = own[0] if own else _assembly(pieces, rule, position, prices.offers, fitted)
    apart = sum(prices.of(item) for item in pieces)
    together = prices.of(whole)
    only = any(not part.available for item in pieces for part in prices.parts(item))
    chosen = bool(own) or only or together < apart
    words = _words(rule, position, pieces, apart, together, only, bool(own))
    choices.append(AssemblyChoice(rule.assembly, position, chosen, apart, together, only, words))
    if not chosen:
        return list(left)
    settled = [item.component for item in pieces if item.component]
    # A piece that failed an inspection has the assembly in its place tested again.
    tags = [tag for item in (whole, *pieces) for tag in item.tags]
    whole = replace(
        whole,
        clears=tuple(dict.fromkeys((*whole.clears, *settled))),
        tags=tuple(dict.fromkeys(tags)),
    )
    return [item for item in left if item not in (*pieces, *own)] + [whole]


def _assembly(
    pieces: Sequence[Wanted],
    rule: AssemblyRule,
    position: str,
    offers: Offers,
    fitted: Sequence[Fitted],
) -> Wanted:
    place = (rule.assembly, position)
    there = [one.component for one in fitted if (one.kind, one.position) == place]
    gravest = min((item.criticality for item in pieces), key=CRITICALITIES.index)
    named = ", ".join(dict.fromkeys(item.kind for item in pieces))
    return Wanted(
        kind=rule.assembly,
        position=position,
        task=RENEW,
        component=there[0] if there else "",
        criticality=gravest,
        reason=f"brings {named} with it: {rule.reason}",
        parts=offers[rule.assembly, position],
        optional=all(item.optional for item in pieces),
        value=_worth(pieces),
    )


def _worth(pieces: Sequence[Wanted]) -> int | None:
    values = [item.value for item in pieces]
    return None if None in values else sum(value or 0 for value in values)


def _words(
    rule: AssemblyRule,
    position: str,
    pieces: Sequence[Wanted],
    apart: int,
    together: int,
    only: bool,
    own: bool,
) -> str:
    name = f"{rule.assembly} {position}".strip()
    named = ", ".join(dict.fromkeys(item.kind for item in pieces))
    if own:
        return f"{name} is renewed anyway and brings {named} with it"
    if only:
        return f"{name} is the only way to get {named}, at {money(together)}"
    if together < apart:
        return f"{name} at {money(together)} is cheaper than {named} at {money(apart)}"
    return f"{named} at {money(apart)} is no dearer than {name} at {money(together)}"
