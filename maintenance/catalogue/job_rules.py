"""Loads the rules about jobs: hours, mates, follow-on work, shared access, order, assemblies."""

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from maintenance.catalogue.catalogue import Catalogue
from maintenance.catalogue.errors import Complaints
from maintenance.catalogue.load import catalogue
from maintenance.catalogue.rows import read_row
from maintenance.catalogue.words import unknown
from maintenance.planning.build_rules import AccessRule, AssemblyRule, AxleRule, SettlesRule
from maintenance.planning.jobs import CRITICALITIES
from maintenance.planning.rules import (
    FollowOnRule,
    JobRules,
    PrecedenceRule,
    SequenceRule,
    StandardJob,
    StandardResource,
    TagRule,
    TogetherRule,
)
from maintenance.planning.selectors import SCOPES, Selector

FILE = "job_rules.toml"
#: Given to the jobs that put findings of a failed inspection right; see `Wanted.tags`.
FAILED_INSPECTION = "failed-inspection"
#: Marks the need of a finding that fails no car and yet must be put right.
PUT_RIGHT = "must-be-put-right"
_TABLES: Mapping[str, type[Any]] = {
    "resource": StandardResource,
    "standard_job": StandardJob,
    "tag": TagRule,
    "together": TogetherRule,
    "follow_on": FollowOnRule,
    "access": AccessRule,
    "precedence": PrecedenceRule,
    "sequence": SequenceRule,
    "assembly": AssemblyRule,
    "axle": AxleRule,
    "settles": SettlesRule,
}


@cache
def job_rules() -> JobRules:
    """Return the rules about jobs, loaded and checked at the first call and shared from then on.

    Returns
    -------
    JobRules
        With the system and the cautions of every component kind of the catalogue.

    Raises
    ------
    CatalogueError
        If any row is wrong; it names every wrong row with its remedy.

    References
    ----------
    .. [1] Each row carries its own source.
    """
    text = files("maintenance.catalogue").joinpath(FILE).read_text(encoding="utf-8")
    return read_job_rules(tomllib.loads(text))


def read_job_rules(document: Mapping[str, Any]) -> JobRules:
    """Read and check the rules about jobs from a parsed document.

    Parameters
    ----------
    document : mapping
        The list ``work`` of kinds of work that are no component, and one table array each of
        ``resource``, ``standard_job``, ``tag``, ``together``, ``follow_on``, ``access``,
        ``precedence``, ``sequence``, ``assembly``, ``axle`` and ``settles``.

    Returns
    -------
    JobRules
        The checked rules.

    Raises
    ------
    CatalogueError
        If any row is wrong; it names every wrong row with its remedy.

    References
    ----------
    .. [1] Common practice.
    """
    complaints = Complaints()
    for key in document:
        if key not in _TABLES and key != "work":
            complaints.add(FILE, "", unknown("key", key, [*_TABLES, "work"]))
    rows = {name: _rows(document, name, complaints) for name in _TABLES}
    complaints.raise_if_any()
    known = catalogue()
    _check_words(rows, _known_words(rows, document.get("work", ()), known), complaints)
    complaints.raise_if_any()
    return JobRules(
        standard_jobs=rows["standard_job"],
        together=rows["together"],
        follow_on=rows["follow_on"],
        access=rows["access"],
        precedence=rows["precedence"],
        sequence=rows["sequence"],
        assemblies=rows["assembly"],
        tags=rows["tag"],
        resources=rows["resource"],
        axles=rows["axle"],
        settles=rows["settles"],
        systems={slug: kind.system for slug, kind in known.kinds.items()},
        cautions={slug: tuple(kind.cautions) for slug, kind in known.kinds.items()},
    )


def _known_words(
    rows: Mapping[str, tuple[Any, ...]], work: Iterable[str], known: Catalogue
) -> dict[str, set[str]]:
    """Words that a row may use, by sort; a fallback for every kind has an empty kind."""
    told = {tag for row in rows["standard_job"] for tag in row.tags}
    return {
        "kind": {*known.kinds, *work, ""},
        "caution": set(known.cautions),
        "resource": {row.name for row in rows["resource"]},
        "tag": {row.tag for row in rows["tag"]} | told | {FAILED_INSPECTION, PUT_RIGHT},
        "system": set(known.systems),
        "criticality": set(CRITICALITIES),
        "reach": set(SCOPES),
    }


def _check_words(
    rows: Mapping[str, tuple[Any, ...]], known: Mapping[str, set[str]], complaints: Complaints
) -> None:
    for name, table in rows.items():
        for row in table:
            label = f"{name} {_label(row)}"
            for sort, word in _words(row):
                if word not in known[sort]:
                    complaints.add(FILE, label, unknown(sort, word, sorted(known[sort])))
            if not getattr(row, "source", "a tag has none").strip():
                complaints.add(FILE, label, "source: is empty; name one")


def _rows(document: Mapping[str, Any], name: str, complaints: Complaints) -> tuple[Any, ...]:
    found = []
    for index, raw in enumerate(document.get(name, ()), start=1):
        row, problems = read_row(_TABLES[name], raw)
        complaints.extend(FILE, f"{name} {index}", problems)
        if row is not None:
            found.append(row)
    return tuple(found)


def _label(row: Any) -> str:
    labels = (getattr(row, name, "") for name in ("name", "tag", "assembly", "kind", "task"))
    return " ".join(label for label in labels if label)


def _words(row: Any) -> Iterable[tuple[str, str]]:
    """Every word of a row that must be known, with its sort."""
    for name in ("kind", "open_kind", "close_kind", "assembly", "unknown_kind"):
        if hasattr(row, name):
            yield "kind", getattr(row, name)
    for name in ("adds", "brings", "kinds", "other_kinds"):
        yield from (("kind", word) for word in getattr(row, name, ()))
    yield from (("caution", word) for word in getattr(row, "cautions", ()))
    yield from (("resource", use.resource) for use in getattr(row, "uses", ()))
    if getattr(row, "with_resource", ""):
        yield "resource", row.with_resource
    if hasattr(row, "where"):
        yield "reach", row.where
    if hasattr(row, "criticality"):
        yield "criticality", row.criticality
    for name in ("before", "after", "when", "jobs"):
        if hasattr(row, name):
            yield from _selector_words(getattr(row, name))


def _selector_words(selector: Selector) -> Iterable[tuple[str, str]]:
    yield from (("kind", word) for word in selector.kinds)
    yield from (("system", word) for word in selector.systems)
    yield from (("criticality", word) for word in selector.criticalities)
    yield from (("tag", word) for word in (*selector.tags, *selector.without_tags))
