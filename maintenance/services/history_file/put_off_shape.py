"""The keys of a postponement in a history file, and of the due item that it names."""

from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from maintenance.catalogue.rules import APPLIES
from maintenance.engine.columns import TASKS
from maintenance.services.checks.inspections import GRAVE
from maintenance.services.history_file.read import pointer_to
from maintenance.services.history_file.tolerant import Day, Flag, Text, Tolerant, Whole
from maintenance.services.history_file.words import Kind, Position, one_of
from maintenance.services.refusals import Problem

#: One of these names the due item.
ITEM_KEYS = ("component", "finding", "paper", "inspection")


class ComponentItemRow(Tolerant):
    """What a rule asks of a component; `applies` is `always` unless it is said."""

    required: ClassVar = ("kind", "task")

    kind: Kind | None = None
    position: Position | None = None
    task: Annotated[Text, one_of(*TASKS)] | None = None
    applies: Annotated[Text, one_of(*APPLIES)] | None = None


class FindingItemRow(Tolerant):
    """A finding of the inspection that was failed on a day; one that is gone has a place alone."""

    required: ClassVar = ("kind",)

    on: Day | None = None
    kind: Kind | None = None
    position: Position | None = None
    category: Annotated[Text, one_of(*GRAVE)] | None = None
    note: Text | None = None
    which: (
        Annotated[Whole, Field(description="2 for the second of findings that say the same.")]
        | None
    ) = None


class PaperItemRow(Tolerant):
    """A paper that runs out, by what it is known by; of one that is gone the kind will do."""

    required: ClassVar = ("kind",)

    kind: Text | None = None
    number: Text | None = None
    until: Day | None = None


class PostponementRow(Tolerant):
    """A due item put off until a day; one of component, finding, paper and inspection names it."""

    required: ClassVar = ("rule", "until", "why")

    component: ComponentItemRow | None = None
    finding: FindingItemRow | None = None
    paper: PaperItemRow | None = None
    inspection: (
        Annotated[Flag, Field(description="True for the roadworthiness inspection.")] | None
    ) = None
    rule: Annotated[Text, Field(description="What the due item was called then.")] | None = None
    since: (
        Annotated[
            Day,
            Field(
                description="Day on which the clock of the item had started; absent where nothing "
                "on record started it, and for findings and papers."
            ),
        ]
        | None
    ) = None
    until: Day | None = None
    why: Text | None = None
    gone: (
        Annotated[
            Flag, Field(description="True where nothing on record asks for the item any more.")
        ]
        | None
    ) = None

    def items(self) -> list[str]:
        """Return the keys that name a due item: one, in a sound postponement."""
        return [key for key in ITEM_KEYS if getattr(self, key)]

    def faults(self, pointer: str) -> Iterator[Problem]:
        """Tell of the shape, and where none or more than one due item is named."""
        found = list(super().faults(pointer))
        yield from found
        here = {pointer, *(pointer + pointer_to(key) for key in ITEM_KEYS)}
        if here & {fault.pointer for fault in found}:
            return
        named = self.items()
        if not named:
            yield Problem(
                f"{pointer}/component",
                "is missing; name the due item by one of component, finding, paper and inspection",
            )
        for key in named[1:]:
            text = f"names another due item beside {named[0]}; take one out"
            yield Problem(f"{pointer}/{key}", text)
