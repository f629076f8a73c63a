"""The keys of due items: what names one for good, whatever its row and its rule are called."""

import uuid
from typing import Final, NamedTuple

INSPECTION_KEY: Final = "inspection"
"""Of the one item of a car that concerns no component, finding or paper."""
_RULE, _FINDING, _PAPER = "rule", "finding", "paper"


class DueKey(NamedTuple):
    """A key taken apart: what the item comes of, the row that it is of, and what is to be done."""

    of: str
    row: str = ""
    task: str = ""
    applies: str = ""


def rule_key(component: uuid.UUID, task: str, applies: str) -> str:
    """Return the key of what a rule asks of a component."""
    return f"{_RULE}:{component}:{task}:{applies}"


def finding_key(finding: uuid.UUID) -> str:
    """Return the key of a finding to be put right."""
    return f"{_FINDING}:{finding}"


def paper_key(paper: uuid.UUID) -> str:
    """Return the key of a paper that runs out."""
    return f"{_PAPER}:{paper}"


def read_key(key: str) -> DueKey:
    """Take a key apart; the inspection of a car has no row."""
    return DueKey(*key.split(":"))
