"""Reads one row of data, from a data file or from somebody's own file, into a frozen dataclass."""

import dataclasses
import types
import typing
from collections.abc import Mapping
from decimal import Decimal
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import BeforeValidator, ConfigDict, Strict, TypeAdapter, ValidationError

from maintenance.catalogue.words import unknown

Row = TypeVar("Row")

#: Put on a row's dataclass, or a misspelt key would be dropped without a word.
NO_OTHER_KEYS = ConfigDict(extra="forbid")


class Problem(NamedTuple):
    """One thing wrong with a row.

    Parameters
    ----------
    field : str
        Path of the field inside the row, its steps parted by slashes as in a JSON pointer, such as
        ``lay_up/factors/damp``; empty for the row as a whole.
    message : str
        What is wrong and what to do about it.

    References
    ----------
    .. [1] RFC 6901, section 3, for the path (without its first slash).
    """

    field: str
    message: str


def _no_truth_value(value: object) -> object:
    # Without this, true would be read as the number 1.
    if isinstance(value, bool):
        raise ValueError("not a number")
    return value


#: A decimal number. Read exactly, never through a float's binary digits.
Number = Annotated[Decimal, BeforeValidator(_no_truth_value)]
#: A whole number, written as one.
Whole = Annotated[int, Strict()]
#: A truth value, written as one: "no" in quotes is not false.
Flag = Annotated[bool, Strict()]

_READERS: dict[type[Any], TypeAdapter[Any]] = {}

_WANTED = {
    "int": "a whole number",
    "decimal": "a number",
    "finite": "a finite number",
    "value": "a number",
    "string": "text",
    "bool": "true or false",
    "date": "a date such as 2026-11-25",
    "tuple": "a list",
    "dict": "a table of names and values",
    "mapping": "a table of names and values",
    "dataclass": "a table of names and values",
}


def read_row(row_type: type[Row], row: object) -> tuple[Row | None, list[Problem]]:
    """Read a mapping into a row's dataclass.

    Parameters
    ----------
    row_type : type
        A frozen dataclass whose fields name the keys.
    row : object
        The row as read from TOML, JSON or a request; anything but a mapping is a problem.

    Returns
    -------
    tuple of (row or None, list of Problem)
        The row, or None and every problem of its shape: missing and unknown keys, wrong types.

    Notes
    -----
    Shape only. Whether the values make sense is for the row's own checks.

    References
    ----------
    .. [1] Common practice.
    """
    try:
        return _reader(row_type).validate_python(row), []
    except ValidationError as refused:
        errors = refused.errors(include_url=False)
        return None, [_problem(row_type, error) for error in errors]


def _reader(row_type: type[Any]) -> TypeAdapter[Any]:
    # Built once a type: building costs far more than reading a row.
    if row_type not in _READERS:
        _READERS[row_type] = TypeAdapter(row_type)
    return _READERS[row_type]


def _problem(row_type: type[Any], error: Mapping[str, Any]) -> Problem:
    steps = [str(step) for step in error["loc"]]
    # A key may itself hold a slash; the path must still lead to it.
    field = "/".join(step.replace("~", "~0").replace("/", "~1") for step in steps)
    if error["type"] == "missing":
        return Problem(field, "is missing; give it a value")
    if error["type"] == "unexpected_keyword_argument":
        return Problem(field, unknown("key", steps[-1], _keys(row_type, steps[:-1])))
    wanted = _WANTED.get(error["type"].split("_")[0], error["msg"])
    return Problem(field, f"must be {wanted}, not {_shown(error['input'])}")


def _keys(row_type: type[Any], steps: list[str]) -> list[str]:
    for step in steps:
        row_type = _dataclass_in(typing.get_type_hints(row_type)[step])
    return [field.name for field in dataclasses.fields(row_type)]


def _dataclass_in(hint: Any) -> Any:
    """Return the dataclass of an optional field."""
    if isinstance(hint, types.UnionType):
        return next(part for part in typing.get_args(hint) if dataclasses.is_dataclass(part))
    return hint


def _shown(value: object) -> str:
    text = repr(str(value)) if isinstance(value, str | Decimal) else repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
