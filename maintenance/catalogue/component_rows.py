"""Reads the component kinds of each system and, beneath each kind, its default interval rules."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from maintenance.catalogue.errors import Complaints
from maintenance.catalogue.kinds import Caution, ComponentKind, Mechanism
from maintenance.catalogue.quantities import Quantity
from maintenance.catalogue.rows import NO_OTHER_KEYS, Problem, read_row
from maintenance.catalogue.rule_checks import Vocabulary, read_rule
from maintenance.catalogue.rules import IntervalRule
from maintenance.catalogue.words import unknown


@dataclass(frozen=True, kw_only=True)
class _SystemDocument:
    """A file of component kinds: one system of the car, or a part of it."""

    __pydantic_config__ = NO_OTHER_KEYS

    system: str
    name: str
    read_on: dt.date
    kind: tuple[dict[str, Any], ...]


@dataclass(frozen=True, kw_only=True)
class _RuleTables:
    """The tables of rules beneath a kind."""

    rule: tuple[dict[str, Any], ...]


class ComponentRows:
    """The systems, kinds and rules read so far, and what the rows may refer to.

    Parameters
    ----------
    quantities, mechanisms, cautions : mapping
        Known rows by name.
    complaints : Complaints
        Gathers what is wrong.

    Notes
    -----
    A rule's ``lay_up`` may be the slug of a mechanism, whose factors it then takes.

    References
    ----------
    .. [1] Common practice.
    """

    def __init__(
        self,
        quantities: Mapping[str, Quantity],
        mechanisms: Mapping[str, Mechanism],
        cautions: Mapping[str, Caution],
        complaints: Complaints,
    ) -> None:
        self._quantities = quantities
        self._mechanisms = mechanisms
        self._cautions = cautions
        self._complaints = complaints
        self._rule_rows: list[tuple[str, Mapping[str, Any]]] = []
        self.systems: dict[str, str] = {}
        self.kinds: dict[str, ComponentKind] = {}
        self.mechanism_of_rule: dict[str, str] = {}

    def read_system(self, file: str, document: Mapping[str, Any]) -> None:
        """Read a document of one system of the car; its rules wait for :meth:`rules`.

        Parameters
        ----------
        file : str
            Name of the file, for complaints.
        document : mapping
            ``system``, ``name``, ``read_on`` and tables ``[[kind]]``, each with ``[[kind.rule]]``.

        References
        ----------
        .. [1] Common practice.
        """
        read, problems = read_row(_SystemDocument, document)
        self._complaints.extend(file, "", problems)
        if read is None:
            return
        if self.systems.setdefault(read.system, read.name) != read.name:
            message = f"name: {read.system} is {self.systems[read.system]!r} in another file"
            self._complaints.add(file, "", message)
        for row in read.kind:
            self._read_kind(file, read, row)

    def _read_kind(self, file: str, document: _SystemDocument, row: dict[str, Any]) -> None:
        slug = str(row.get("slug", "a kind without slug"))
        tables, table_problems = read_row(_RuleTables, {"rule": row.pop("rule", [])})
        kind, problems = read_row(
            ComponentKind, {**row, "system": document.system, "read_on": document.read_on}
        )
        if kind is not None:
            problems = list(self._kind_problems(kind))
            self.kinds[slug] = kind
        rules = tables.rule if tables else ()
        if not rules:
            problems.append(Problem("rule", "has none; give the kind at least one"))
        self._complaints.extend(file, slug, [*table_problems, *problems])
        self._rule_rows.extend((file, {**rule, "kind": slug}) for rule in rules)

    def rules(self) -> tuple[IntervalRule, ...]:
        """Read the rules of all kinds, once every kind is known.

        Returns
        -------
        tuple of IntervalRule
            The rules that are in order, as the files have them.

        References
        ----------
        .. [1] Common practice.
        """
        vocabulary = Vocabulary(kinds=self.kinds.keys(), quantities=self._quantities)
        rules = []
        for file, row in self._rule_rows:
            rule, problems = read_rule(self._with_factors(row), vocabulary)
            if rule is not None:
                rules.append(rule)
            label = str(row.get("name", f"a rule of {row['kind']}"))
            self._complaints.extend(file, label, problems)
        self._complain_of_doubles(rules)
        return tuple(rules)

    def _kind_problems(self, kind: ComponentKind) -> Iterable[Problem]:
        if kind.slug in self.kinds:
            yield Problem("slug", "stands twice in the catalogue; take one out")
        if not kind.source.strip():
            yield Problem("source", "is empty; name it or say common practice")
        for index, word in enumerate(kind.mechanisms):
            if word not in self._mechanisms:
                message = unknown("mechanism", word, self._mechanisms.keys())
                yield Problem(f"mechanisms/{index}", message)
        for index, word in enumerate(kind.cautions):
            if word not in self._cautions:
                yield Problem(f"cautions/{index}", unknown("caution", word, self._cautions.keys()))

    def _with_factors(self, row: Mapping[str, Any]) -> Mapping[str, Any]:
        """Put a mechanism's factors in the place of its slug."""
        word = row.get("lay_up")
        mechanism = self._mechanisms.get(word) if isinstance(word, str) else None
        if mechanism is None:
            return row
        self.mechanism_of_rule[str(row.get("name"))] = mechanism.slug
        return {**row, "lay_up": {"factors": mechanism.factors}}

    def _complain_of_doubles(self, rules: Iterable[IntervalRule]) -> None:
        names: Counter[str] = Counter()
        places: Counter[tuple[str, str, str]] = Counter()
        for rule in rules:
            names[rule.name] += 1
            places[rule.kind, rule.task, rule.applies] += 1
        for name in (name for name, times in names.items() if times > 1):
            message = "name: stands for two rules; rename one"
            self._complaints.add("component_kinds", name, message)
        for kind, task, applies in (place for place, times in places.items() if times > 1):
            message = f"task: two rules to {task} it apply {applies}; keep one"
            self._complaints.add("component_kinds", kind, message)
