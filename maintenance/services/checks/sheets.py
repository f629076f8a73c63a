"""What is wrong with a paper that runs out or a line of the specification sheet."""

from collections.abc import Collection, Iterator

from maintenance.catalogue.words import unknown
from maintenance.services.checks.figures import text_problems
from maintenance.services.drafts import PaperDraft, SpecificationDraft
from maintenance.services.refusals import Problem

_LONGEST_OF_LINE = {"item": 120, "value": 120, "unit": 20, "handbook_page": 60}
_REQUIRED_OF_LINE = ("item", "value")


def paper_problems(draft: PaperDraft, kinds: Collection[str]) -> Iterator[Problem]:
    """Tell what is wrong with a paper, given the kinds there are."""
    if not draft.kind:
        yield Problem("/kind", "is missing")
    elif draft.kind not in kinds:
        yield Problem("/kind", unknown("kind of paper", draft.kind, kinds))
    yield from text_problems("/issuer", draft.issuer, longest=120)
    yield from text_problems("/number", draft.number, longest=60)
    if draft.from_on is not None and draft.until < draft.from_on:
        yield Problem("/until", f"{draft.until} is before its first day, {draft.from_on}")


def specification_problems(draft: SpecificationDraft) -> Iterator[Problem]:
    """Tell what is wrong with a line of a specification sheet."""
    for name, longest in _LONGEST_OF_LINE.items():
        yield from text_problems(
            f"/{name}", getattr(draft, name), longest=longest, required=name in _REQUIRED_OF_LINE
        )
