"""Which column of a sheet is which: people call them in their own words."""

import difflib
import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from maintenance.services.refusals import Problem, Refused
from maintenance.services.spreadsheet.places import COLUMNS, REQUIRED

#: Other words of the trade for a column; ours come first.
_ALSO_CALLED = {
    "registration": ("registration mark", "registration number", "reg", "plate", "number plate"),
    "on": ("date", "day", "done on"),
    "visit": ("visit number", "visit no", "visit no."),
    "odometer": ("odometer reading", "reading", "mileage", "km", "miles"),
    "component": ("part", "component kind", "kind"),
    "position": ("where", "side"),
    "action": ("work", "work done", "job"),
    "to": ("moved to", "went to", "to position", "to place", "to component", "destination"),
    "to_vehicle": ("to car", "to registration", "moved to car", "moved to vehicle"),
    "quantity": ("measured", "measurement"),
    "value": ("reading value", "measured value"),
    "part_number": ("part no", "part no.", "article number"),
    "supplier": ("vendor", "bought from"),
    "price": ("part price", "amount"),
    "done_by": ("workshop", "garage", "mechanic"),
    "note": ("notes", "remark", "remarks", "comment", "comments"),
}
#: Known by their names alone: "toe" is like one and "vehicle" like the other, and a column taken
#: for them by mistake would send parts elsewhere.
_NEVER_GUESSED = frozenset(("to", "to_vehicle"))
#: How alike two words must be to be taken for each other, and how much the next best must lag.
_ALIKE = 0.8
_CLEARLY = 0.05
#: In a mapping: this column is not wanted.
LEFT_OUT = ""


@dataclass(frozen=True)
class Matched:
    """The place of each of our columns in the sheet, and headings that were left aside."""

    places: Mapping[str, int]
    headings: Mapping[str, str]
    left_aside: Sequence[str] = field(default_factory=tuple)


def match_headings(headings: Sequence[str], mapping: Mapping[str, str] | None = None) -> Matched:
    """Find our columns among the headings of a sheet.

    A heading is taken as `mapping` says, else by its exact name, else without regard to case,
    spaces and hyphens or by another word of the trade, else by the nearest name. Refused, with
    the headings named: two headings for one column, a heading near to two columns, a required
    column that is absent, and a mapping that names what is not there.
    """
    mapping = mapping or {}
    problems = _wrong_mapping(headings, mapping)
    claims: dict[str, list[int]] = defaultdict(list)
    doubts: dict[int, list[str]] = {}
    for how in (_as_mapped(mapping), _exact, _without_case, _nearest):
        decided = {place for places in claims.values() for place in places}
        taken = {column for column, places in claims.items() if places}
        for place, heading in enumerate(headings):
            if place in decided or not heading.strip() or mapping.get(heading) == LEFT_OUT:
                continue
            # A column found by a surer way is not open to a guess.
            found = [column for column in how(heading) if column not in taken]
            if len(found) == 1:
                claims[found[0]].append(place)
            elif found:
                doubts[place] = found
    problems += _doubtful(headings, claims, doubts)
    problems += _absent(headings, claims)
    if problems:
        raise Refused(problems)
    places = {column: claims[column][0] for column in COLUMNS if claims.get(column)}
    aside = [
        heading
        for place, heading in enumerate(headings)
        if heading.strip() and place not in places.values() and mapping.get(heading) != LEFT_OUT
    ]
    return Matched(places, {column: headings[place] for column, place in places.items()}, aside)


def _plain(heading: str) -> str:
    return re.sub(r"[\s_\-]+", " ", heading).strip().casefold()


_WORDS = {
    _plain(word): column for column in COLUMNS for word in (column, *_ALSO_CALLED.get(column, ()))
}


def _as_mapped(mapping: Mapping[str, str]) -> Callable[[str], list[str]]:
    return lambda heading: [mapping[heading]] if mapping.get(heading) in COLUMNS else []


def _exact(heading: str) -> list[str]:
    return [heading] if heading in COLUMNS else []


def _without_case(heading: str) -> list[str]:
    column = _WORDS.get(_plain(heading))
    return [column] if column else []


def _nearest(heading: str) -> list[str]:
    scores: dict[str, float] = {}
    plain = _plain(heading)[:80]
    for word, column in _WORDS.items():
        if column in _NEVER_GUESSED:
            continue
        alike = difflib.SequenceMatcher(None, plain, word).ratio()
        scores[column] = max(alike, scores.get(column, 0.0))
    best = max(scores.values())
    return [c for c, alike in scores.items() if alike >= _ALIKE and alike >= best - _CLEARLY]


def _wrong_mapping(headings: Sequence[str], mapping: Mapping[str, str]) -> list[Problem]:
    problems = []
    for heading, column in mapping.items():
        if column != LEFT_OUT and column not in COLUMNS:
            text = f"{column!r} is no column; the columns are {', '.join(COLUMNS)}"
            problems.append(Problem("/columns", text))
        if heading not in headings:
            there = ", ".join(map(repr, headings)) or "none"
            problems.append(
                Problem("/columns", f"no column is headed {heading!r}; the sheet has {there}")
            )
    return problems


def _doubtful(
    headings: Sequence[str], claims: Mapping[str, list[int]], doubts: Mapping[int, list[str]]
) -> list[Problem]:
    problems = []
    for column, places in claims.items():
        if len(places) > 1:
            names = " and ".join(repr(headings[place]) for place in places)
            problems.append(
                Problem(
                    "/headings",
                    f"{names} may each be {column}; say by a mapping of columns which one is, "
                    "or rename one",
                )
            )
    for place, columns in doubts.items():
        if not any(place in places for places in claims.values()):
            text = f"{headings[place]!r} may be {' or '.join(columns)}; say which by a mapping"
            problems.append(Problem("/headings", text))
    return problems


def _absent(headings: Sequence[str], claims: Mapping[str, list[int]]) -> list[Problem]:
    there = ", ".join(repr(heading) for heading in headings if heading.strip())
    return [
        Problem(
            "/headings",
            f"no column is headed {column}; rename one, or say by a mapping of columns which of "
            f"{there} it is",
        )
        for column in REQUIRED
        if not claims.get(column)
    ]
