"""Objects of a file that are read as far as they go, so that one error does not hide another."""

import datetime
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ModelWrapValidatorHandler,
    PrivateAttr,
    Strict,
    ValidationError,
    WithJsonSchema,
    model_validator,
)

from maintenance.catalogue.words import unknown
from maintenance.services.history_file.read import pointer_to
from maintenance.services.refusals import Problem

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_LONGEST_SHOWN = 40
_WANTED = {
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "list_type": "a list",
}


def _number(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise ValueError(f"must be a number, not {_shown(value)}")
    return Decimal(value)


def _whole(value: object) -> int:
    number = _number(value)
    if number != number.to_integral_value():
        raise ValueError(f"must be a whole number, not {_shown(value)}")
    return int(number)


def _day(value: object) -> datetime.date:
    if not isinstance(value, str) or not _DATE.fullmatch(value):
        raise ValueError(f"must be a date such as 2019-05-01, not {_shown(value)}")
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise ValueError(f"{value!r} is no day of the calendar; check month and day") from None


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    text = str(value) if isinstance(value, int | Decimal) else repr(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"


Text = Annotated[str, Strict()]
Flag = Annotated[bool, Strict()]
Number = Annotated[Decimal, BeforeValidator(_number), WithJsonSchema({"type": "number"})]
Whole = Annotated[int, BeforeValidator(_whole), WithJsonSchema({"type": "integer"})]
Day = Annotated[
    datetime.date, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})
]


def _require(schema: dict[str, Any], model: type["Tolerant"]) -> None:
    if model.required:
        schema["required"] = list(model.required)


class Tolerant(BaseModel):
    """An object whose every key may be absent or null.

    A key that is unknown or whose value is of the wrong kind is noted and left out. Which keys
    a sound object must have is told by `required`, so that an unsound one can be read as well.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, json_schema_extra=_require)

    required: ClassVar[tuple[str, ...]] = ()
    _faults: list[Problem] = PrivateAttr(default_factory=list)

    @model_validator(mode="wrap")
    @classmethod
    def _read_on(cls, value: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        value = cls.as_object(value)
        if not isinstance(value, dict):
            made = handler({})
            made._faults.append(Problem("", f"must be an object, not {_shown(value)}"))
            return made
        try:
            return handler(value)
        except ValidationError as refused:
            errors = refused.errors(include_url=False)
        faulty = {error["loc"][0] for error in errors}
        made = handler({key: member for key, member in value.items() if key not in faulty})
        made._faults.extend(cls._fault(error) for error in errors)
        return made

    @classmethod
    def as_object(cls, value: Any) -> Any:
        """Return the object that a shorter way of writing stands for."""
        return value

    @classmethod
    def _fault(cls, error: Any) -> Problem:
        pointer = pointer_to(*error["loc"])
        if error["type"] == "extra_forbidden":
            keys = [field.alias or name for name, field in cls.model_fields.items()]
            return Problem(pointer, unknown("key", error["loc"][-1], keys))
        if error["type"] == "value_error":
            return Problem(pointer, str(error["ctx"]["error"]))
        wanted = _WANTED.get(error["type"], error["msg"])
        return Problem(pointer, f"must be {wanted}, not {_shown(error['input'])}")

    def faults(self, pointer: str) -> Iterator[Problem]:
        """Tell everything that is wrong with the shape of the object and of those within it."""
        whole = False
        for fault in self._faults:
            whole = whole or not fault.pointer
            yield fault.under(pointer)
        if whole:
            return
        faulty = {fault.pointer.split("/")[1] for fault in self._faults}
        for name, field in type(self).model_fields.items():
            key = field.alias or name
            value = getattr(self, name)
            if value is None and key in self.required and key not in faulty:
                yield Problem(pointer + pointer_to(key), "is missing")
            elif isinstance(value, Tolerant):
                yield from value.faults(pointer + pointer_to(key))
            elif isinstance(value, list):
                for place, member in enumerate(value):
                    if isinstance(member, Tolerant):
                        yield from member.faults(pointer + pointer_to(key, place))
