"""The catalogue as the rest of the program sees it: every row, by its name."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from maintenance.catalogue.kinds import Caution, ComponentKind, Mechanism, StorageGrade
from maintenance.catalogue.quantities import Quantity
from maintenance.catalogue.regimes import InspectionRegime
from maintenance.catalogue.rule_checks import Vocabulary
from maintenance.catalogue.rules import IntervalRule
from maintenance.catalogue.words import nearest
from maintenance.engine.columns import ACTIONS, TASKS

#: The sorts of word for which the nearest known one can be asked.
WordSort = Literal["kinds", "quantities", "grades", "regimes", "mechanisms", "actions", "tasks"]


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """Everything the data files say, checked and by name.

    Parameters
    ----------
    systems : mapping of str to str
        Names of the systems of a car, by slug.
    kinds : mapping of str to ComponentKind
        Component kinds, by slug.
    rules : tuple of IntervalRule
        Default interval rules, in the order of the files.
    mechanism_of_rule : mapping of str to str
        Slug of the mechanism whose factors a default rule takes, by the rule's name.
    quantities : mapping of str to Quantity
        Measured quantities, by slug.
    grades : mapping of str to StorageGrade
        Storage grades, by slug.
    mechanisms : mapping of str to Mechanism
        Ways of ageing, by slug.
    cautions : mapping of str to Caution
        Standing cautions, by slug.
    regimes : mapping of str to InspectionRegime
        Inspection regimes, by code.

    References
    ----------
    .. [1] Each row carries its own source.
    """

    systems: Mapping[str, str]
    kinds: Mapping[str, ComponentKind]
    rules: tuple[IntervalRule, ...]
    mechanism_of_rule: Mapping[str, str]
    quantities: Mapping[str, Quantity]
    grades: Mapping[str, StorageGrade]
    mechanisms: Mapping[str, Mechanism]
    cautions: Mapping[str, Caution]
    regimes: Mapping[str, InspectionRegime]

    @cached_property
    def _rules_by_kind(self) -> Mapping[str, tuple[IntervalRule, ...]]:
        by_kind: dict[str, list[IntervalRule]] = {}
        for rule in self.rules:
            by_kind.setdefault(rule.kind, []).append(rule)
        return {kind: tuple(rules) for kind, rules in by_kind.items()}

    def mechanism_of(self, rule: IntervalRule) -> str | None:
        """Return the mechanism from which a rule of the catalogue has its lay-up factors.

        Parameters
        ----------
        rule : IntervalRule
            Any rule.

        Returns
        -------
        str or None
            Slug of the mechanism; None for a rule with factors of its own, and for every rule
            that is not the catalogue's, even one that says the same.

        References
        ----------
        .. [1] Common practice: what a user sets stays as it was set.
        """
        if not any(rule is own for own in self._rules_by_kind.get(rule.kind, ())):
            return None
        return self.mechanism_of_rule.get(rule.name)

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The words that an interval rule may use.

        References
        ----------
        .. [1] Common practice.
        """
        return Vocabulary(kinds=self.kinds.keys(), quantities=self.quantities)

    def rules_for(self, kind: str) -> tuple[IntervalRule, ...]:
        """Return the default rules of a component kind.

        Parameters
        ----------
        kind : str
            Slug of the kind.

        Returns
        -------
        tuple of IntervalRule
            In the order of the file; at least one for every known kind.

        Raises
        ------
        KeyError
            If there is no such kind.

        References
        ----------
        .. [1] Each rule carries its own source.
        """
        return self._rules_by_kind[kind]

    def cautions_for(self, kind: str) -> tuple[Caution, ...]:
        """Return the standing cautions of a component kind, the gravest first.

        Parameters
        ----------
        kind : str
            Slug of the kind.

        Returns
        -------
        tuple of Caution
            Empty where nothing beyond ordinary care is called for.

        Raises
        ------
        KeyError
            If there is no such kind.

        References
        ----------
        .. [1] Each caution carries its own source.
        """
        return tuple(self.cautions[key] for key in self.kinds[kind].cautions)

    def nearest(self, word: str, of: WordSort) -> str | None:
        """Return the known word that is nearest to the given one.

        Parameters
        ----------
        word : str
            What somebody wrote.
        of : str
            The sort of word: ``kinds``, ``quantities``, ``grades``, ``regimes``, ``mechanisms``,
            ``actions`` or ``tasks``.

        Returns
        -------
        str or None
            The nearest known word, or None where none is near.

        References
        ----------
        .. [1] Common practice.
        """
        if of == "actions":
            return nearest(word, ACTIONS)
        if of == "tasks":
            return nearest(word, TASKS)
        known: Mapping[str, object] = getattr(self, of)
        return nearest(word, known.keys())
