"""The OpenAPI document, drawn from the views: names, examples, problems and headers."""

from collections.abc import Iterator
from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse
from rest_framework import serializers

from api.problem_types import PROBLEM_TYPES, ProblemType
from api.problems import MEDIA_TYPE, body_of

#: The kinds of problem each action can meet, beside those that any can.
_PROBLEMS = {
    "list": ("invalid-cursor",),
    "retrieve": ("not-found",),
    "create": ("malformed-request", "unsupported-media-type", "refused"),
    "partial_update": (
        *("malformed-request", "not-found", "unsupported-media-type", "refused"),
        *("changed-meanwhile", "precondition-required"),
    ),
    "destroy": ("not-found", "still-in-use", "changed-meanwhile", "precondition-required"),
    "corrections": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "withdrawal": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "undo": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "end": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "secrets": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "test": ("not-found", "refused"),
    "again": ("not-found", "refused"),
    "planning": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "wishes": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "at_once": ("malformed-request", "unsupported-media-type", "refused", "too-large"),
    "projection": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "trip_check": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
    "plot": ("not-found", "refused"),
    "job_sheet": ("not-found", "refused"),
    "done": ("malformed-request", "not-found", "unsupported-media-type", "refused"),
}
_ALWAYS = (
    *("invalid-query", "not-authenticated", "not-permitted", "not-acceptable"),
    *("too-many-requests", "busy"),
)

#: What any call by POST can meet.
_POSTED = ("malformed-idempotency-key", "still-under-way", "key-used-before")

#: How the document explains the header of that name.
KEY_SAID = (
    "A text of your own in quotation marks. For 24 hours the same request under the same key is "
    "done once and answered alike, with `Idempotency-Replayed: true`."
)
#: As `api.once` reads it: a structured-fields string, or the same without its quotation marks.
KEY_SCHEMA = {
    "type": "string",
    "maxLength": 255,
    "pattern": r'^("[ !#-\[\]-~]+"|[A-Za-z0-9_.~+/=:-]+)$',
}

_WITHOUT_NUL = {"pattern": r"^[^\u0000]*$"}

#: Summary of each action, and its verb in the operation's identifier.
_SAID = {
    "list": ("List {nouns}", "list_{nouns}"),
    "retrieve": ("Read {a} {noun}", "read_{noun}"),
    "create": ("Record {a} {noun}", "record_{noun}"),
    "partial_update": ("Change {a} {noun}", "change_{noun}"),
    "destroy": ("Remove {a} {noun}", "remove_{noun}"),
    "corrections": ("Correct {a} {noun}", "correct_{noun}"),
    "withdrawal": ("Withdraw {a} {noun}", "withdraw_{noun}"),
    "undo": ("Undo the correction or withdrawal of {a} {noun}", "undo_{noun}"),
}


class ErrorLine(serializers.Serializer[Any]):
    """One thing wrong: where, and what to do about it."""

    pointer = serializers.CharField(
        required=False, allow_blank=True, help_text="JSON pointer (RFC 6901) into the body."
    )
    parameter = serializers.CharField(required=False, help_text="Name of the query parameter.")
    detail = serializers.CharField()


class Problem(serializers.Serializer[Any]):
    """Problem details (RFC 9457)."""

    type = serializers.CharField(help_text="Address that explains this kind of problem.")
    title = serializers.CharField()
    status = serializers.IntegerField(help_text="Repeats the status of the answer.")
    detail = serializers.CharField()
    errors = ErrorLine(many=True, required=False)  # type: ignore[assignment]


class NounSchema(AutoSchema):
    """Describes one call of one noun."""

    view: Any

    def is_deprecated(self) -> bool:
        return self.view.action in self.view.deprecated

    def get_tags(self) -> list[str]:
        return [self.view.nouns]

    def get_operation_id(self) -> str:
        return self._said(1).replace(" ", "_").replace("-", "_")

    def get_summary(self) -> str:
        return self._said(0)

    def _said(self, which: int) -> str:
        action, noun = self.view.action, self.view.noun
        said = self.view.said.get(action) or _SAID[action]
        a = "an" if noun[0] in "aeio" else "a"
        return said[which].format(a=a, noun=noun, nouns=self.view.nouns)

    def _get_serializer_field_meta(self, field: Any, direction: str) -> Any:
        meta = super()._get_serializer_field_meta(field, direction)  # type: ignore[no-untyped-call]
        # A reference that has to be named when a row is made may be gone from it later.
        if direction == "response" and _may_be_empty(field):
            meta["nullable"] = True
        return meta

    def get_request_serializer(self) -> Any:
        return self.view.takes(self.view.action)

    def get_response_serializers(self) -> Any:
        action = self.view.action
        if action == "destroy":
            answers: dict[Any, Any] = {"204": OpenApiResponse(description="Removed.")}
        elif self.method == "POST":
            answers = {"201": OpenApiResponse(self.view.answers(action), "Recorded.")}
        else:
            answers = {
                "200": OpenApiResponse(self.view.answers(action), "As asked."),
                "304": OpenApiResponse(description="You have it already, by If-None-Match."),
            }
        problems = (*_PROBLEMS.get(action, ("not-found",)), *self.view.problems.get(action, ()))
        if self.method == "POST":
            problems = (*problems, *_POSTED)
        if action in getattr(self.view, "issuing", ()):
            problems = (*problems, "secret-shown-once")
        return {**answers, **dict(problem_answers((*_ALWAYS, *problems)))}

    def get_examples(self) -> list[OpenApiExample]:
        action = self.view.action
        examples = []
        if (answer := self.view.example_answer(action)) is not None:
            examples.append(OpenApiExample("answer", answer, response_only=True))
        if (request := self.view.example_request(action)) is not None:
            examples.append(OpenApiExample("request", request, request_only=True))
        return examples

    def get_override_parameters(self) -> list[Any]:
        action = self.view.action
        headers = [
            _answered("RateLimit", [200, 201, 202], "What is left of the policy, until when [s]."),
            _answered("RateLimit-Policy", [200, 201, 202], "How many in which time [s]."),
        ]
        headers += [_answered("ETag", [200, 201], "Strong entity tag of this answer.")]
        for name, said in self.view.parameters.get(action, {}).items():
            described = isinstance(said, OpenApiParameter)
            headers.append(said if described else OpenApiParameter(name, description=said))
        if self.method == "GET":
            headers.append(_sent("If-None-Match", "Entity tag known already; 304 if unchanged."))
        if action == "list":
            headers.append(_answered("Link", [200], "Pages beside this one (RFC 8288)."))
        if self.method == "POST":
            headers.append(_sent("Idempotency-Key", KEY_SAID, schema=KEY_SCHEMA))
            headers.append(_answered("Location", [201], "Address of the new record."))
        if action in ("partial_update", "destroy"):
            headers.append(_sent("If-Match", "Entity tag of the version to change.", True))
        return headers


def _may_be_empty(field: Any) -> bool:
    """Say whether the column that a field shows may be empty, whatever a request has to say."""
    model = getattr(getattr(field.parent, "Meta", None), "model", None)
    if model is None:
        return False
    columns = {each.name: each for each in model._meta.concrete_fields}
    return field.source in columns and bool(columns[field.source].null)


def _answered(name: str, codes: list[int], description: str) -> OpenApiParameter:
    return OpenApiParameter(
        name, OpenApiTypes.STR, OpenApiParameter.HEADER, response=codes, description=description
    )


def _sent(
    name: str, description: str, required: bool = False, schema: Any = OpenApiTypes.STR
) -> OpenApiParameter:
    return OpenApiParameter(
        name,
        schema,
        OpenApiParameter.HEADER,
        required=required,
        description=description,
    )


def problem_answers(slugs: tuple[str, ...]) -> Iterator[tuple[Any, OpenApiResponse]]:
    """Yield how the document describes some kinds of problem, by their status."""
    by_status: dict[str, list[ProblemType]] = {}
    for slug in slugs:
        kind = PROBLEM_TYPES[slug]
        by_status.setdefault(str(int(kind.status)), []).append(kind)
    for status, kinds in by_status.items():
        examples = [
            OpenApiExample(
                kind.slug,
                body_of(kind, kind.remedy),
                media_type=MEDIA_TYPE,
                status_codes=[status],
                response_only=True,
            )
            for kind in kinds
        ]
        description = ", or ".join(kind.title for kind in kinds)
        yield (
            (status, MEDIA_TYPE),
            OpenApiResponse(Problem, description=f"{description}.", examples=examples),
        )


def _query_parameters(result: Any) -> Iterator[Any]:
    for calls in result["paths"].values():
        for call in calls.values():
            yield from (each for each in call.get("parameters", ()) if each["in"] == "query")


def _bodies(result: Any) -> Iterator[Any]:
    for calls in result["paths"].values():
        yield from (call["requestBody"] for call in calls.values() if "requestBody" in call)


def _schemas(part: Any) -> Iterator[Any]:
    if isinstance(part, dict):
        if "type" in part:
            yield part
        for each in part.values():
            yield from _schemas(each)
    elif isinstance(part, list):
        for each in part:
            yield from _schemas(each)


def every_member(result: Any, generator: Any, **kwargs: Any) -> Any:
    """Say of answers that every member is always there, and of requests that no other is taken.

    drf-spectacular can't know: a serializer that takes a member or leaves it answers it always.
    """
    for schema in _schemas(result):
        # A time of day without offset is none of RFC 3339, which the format `time` means.
        if schema.get("format") == "time":
            del schema["format"]
            schema["pattern"] = r"^\d\d:\d\d(:\d\d(\.\d{1,6})?)?$"
    for body in _bodies(result):
        # A file is the body itself: there is no call without one.
        if any(each["schema"].get("format") == "binary" for each in body["content"].values()):
            body["required"] = True
    for parameter in _query_parameters(result):
        # An empty value and a NUL are refused by name: see api.filters.refuse_unknown.
        if parameter["schema"].get("type") == "string" and not {"enum", "format"} & set(
            parameter["schema"]
        ):
            parameter["schema"] = _WITHOUT_NUL | {"minLength": 1} | parameter["schema"]
    for name, schema in result["components"]["schemas"].items():
        if schema.get("type") != "object" or name in ("Problem", "ErrorLine"):
            continue
        if name.endswith("Request"):
            schema["additionalProperties"] = False
        else:
            schema["required"] = list(schema["properties"])
    return result
