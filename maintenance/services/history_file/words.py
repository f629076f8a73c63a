"""Texts of a history file of which the schema says more than that they are text."""

from typing import Annotated

from pydantic import Field, WithJsonSchema

from maintenance.services.checks.vehicles import ODOMETER_UNITS
from maintenance.services.history_file.tolerant import Text


def one_of(*words: str) -> WithJsonSchema:
    """Say in the schema which words there are; the checks refuse others."""
    return WithJsonSchema({"type": "string", "enum": list(words)})


def number_of(*numbers: int) -> WithJsonSchema:
    """Say in the schema which numbers there are."""
    return WithJsonSchema({"type": "integer", "enum": list(numbers)})


Unit = Annotated[Text, one_of(*ODOMETER_UNITS)]
Kind = Annotated[Text, Field(description="Slug of a component kind of the catalogue.")]
Position = Annotated[
    Text, Field(description="Where on the car, such as `front left`; empty for the only one.")
]
StatedDay = Annotated[
    Text,
    Field(description="A date, or a month or year where no more is known."),
    WithJsonSchema({"type": "string", "pattern": r"^\d{4}(-\d{2}(-\d{2})?)?$"}),
]
Manufactured = Annotated[
    Text, Field(description="A date, a month, an ISO week (2004-W31) or a quarter (1994-Q3).")
]
