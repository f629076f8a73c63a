"""Files that members send: taken in whole or refused with every error, and looked at meanwhile."""

import json
import uuid
from collections import defaultdict
from typing import Any

from django.conf import settings
from django.db.models import F, QuerySet
from django.db.models.expressions import Window
from django.db.models.functions import RowNumber
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter
from rest_framework import serializers
from rest_framework.exceptions import ParseError, PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.file_bodies import MEDIA_TYPES, CsvParser, HistoryParser, XlsxParser
from api.filters import StrictFilterSet, filters
from api.permissions import scope_refusal
from api.problems import query_refusal
from api.resources.base import Listed
from api.resources.jobs import JOB_FIELDS, Jobs, JobSchema, JobSerializer, file_examples
from api.serializers import StrictModelSerializer
from api.shapes import Row, shape_of
from maintenance.models import ImportJob, ImportProblem, Member
from maintenance.queries.today import this_instant
from maintenance.services.checks.figures import text_problems
from maintenance.services.file_jobs import request_import
from maintenance.services.spreadsheet.cells import DATE_ORDERS
from maintenance.services.spreadsheet.csv_rows import STATED
from maintenance.services.spreadsheet.sheet import SheetOptions

#: Errors shown with an import itself; all of them are under `import-errors`.
SHOWN = 100
_FORMS = {media_type: form for form, media_type in MEDIA_TYPES.items()}
_CHOICES = {
    "date_order": DATE_ORDERS,
    "encoding": STATED,
    "odometer_unit": ("km", "mi"),
    "dry_run": ("true", "false"),
}
_SAID = {
    "dry_run": "`true` to check everything and write nothing.",
    "columns": "JSON object of the headings of a sheet and our columns; an empty one leaves out.",
    "date_order": "Order of dates such as 3/4/2019 in a sheet: `dmy`, `mdy` or `ymd`.",
    "encoding": "`windows-1252` for CSV that is neither UTF-8 nor UTF-16.",
    "odometer_unit": "What a sheet's column odometer counts: `km` or `mi`.",
}
_OPTIONS = {
    "collection": OpenApiParameter(
        "collection",
        OpenApiTypes.UUID,
        required=True,
        description="Identifier of the collection to import into.",
    )
} | {
    name: OpenApiParameter(name, description=said, enum=_CHOICES.get(name))
    for name, said in _SAID.items()
}


class ImportErrorSerializer(StrictModelSerializer):
    """One thing wrong with a file: row and column of a sheet, or the place in a history file."""

    class Meta:
        model = ImportProblem
        fields = ("id", "row", "column", "pointer", "detail")
        read_only_fields = fields


class ImportSerializer(JobSerializer):
    """An import; nothing of a file is written unless all of it is."""

    added = serializers.DictField(child=serializers.IntegerField(), read_only=True)
    already_there = serializers.DictField(child=serializers.IntegerField(), read_only=True)
    headings = serializers.DictField(
        child=serializers.CharField(),
        read_only=True,
        help_text="Heading of the sheet that was taken for each column.",
    )
    warnings = serializers.ListField(child=serializers.CharField(), read_only=True)
    errors = ImportErrorSerializer(  # type: ignore[assignment]
        many=True, read_only=True, help_text=f"The first {SHOWN}; the rest under `import-errors`."
    )

    class Meta:
        model = ImportJob
        fields = (
            *JOB_FIELDS,
            *("dry_run", "added", "already_there", "headings", "warnings"),
            *("error_count", "errors"),
        )
        read_only_fields = fields


EXAMPLE_ERROR: Row = {
    "id": "01931b5e-7f30-7a11-9d2e-0b1c2d3e4f81",
    "row": 14,
    "column": "value",
    "pointer": "",
    "detail": "80 mm is more than the 8 mm of a new one; check the unit",
}
EXAMPLE: Row = {
    "id": "01931b5e-7f20-7a11-9d2e-0b1c2d3e4f80",
    "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
    "member": "01931b5e-7900-7a11-9d2e-0b1c2d3e4f40",
    "form": "csv",
    "state": "refused",
    "asked_at": "2026-11-25T09:30:00Z",
    "finished_at": "2026-11-25T09:30:01Z",
    "rows_done": 20,
    "rows_total": 20,
    "dry_run": False,
    "added": {},
    "already_there": {},
    "headings": {},
    "warnings": [],
    "error_count": 1,
    "errors": [EXAMPLE_ERROR],
}


class ImportSchema(JobSchema):
    """Describes a call whose body is a file."""

    def get_examples(self) -> list[OpenApiExample]:
        sent = file_examples(request_only=True) if self.method == "POST" else []
        return [*super().get_examples(), *sent]


class Imports(Jobs):
    """Your imports."""

    schema = ImportSchema()
    noun, nouns = "import", "imports"
    model = ImportJob
    serializer_class = ImportSerializer
    parser_classes = [CsvParser, XlsxParser, HistoryParser]
    said = {"create": ("Import a file", "import_file")}
    parameters = {"create": _OPTIONS}
    example = EXAMPLE

    @property
    def body_limit(self) -> int:
        return int(max(settings.SPREADSHEET_FILE_LIMIT, settings.HISTORY_FILE_LIMIT))

    def create(self, request: Request) -> Response:
        asked = self._asked()
        member = self._member(asked.pop("collection"))
        content = request.data
        if not isinstance(content, bytes) or not content:
            raise ParseError("The body is empty; send the file as the body.")
        job = request_import(
            member=member,
            form=_FORMS[request.content_type.partition(";")[0].strip().lower()],
            content=content,
            dry_run=asked.pop("dry_run", "false") == "true",
            options=SheetOptions(**asked),
            at=this_instant(),
        )
        self.begin(job)
        return self.begun(job.pk)

    def complete(self, items: list[Row]) -> list[Row]:
        found: defaultdict[Any, list[Row]] = defaultdict(list)
        shape = shape_of(ImportErrorSerializer)
        rows = ImportProblem.objects.filter(job__in=[item["id"] for item in items]).annotate(
            place=Window(RowNumber(), partition_by="job", order_by="id"), of=F("job_id")
        )
        first = shape.read(rows.filter(place__lte=SHOWN).order_by("id"))
        for row in first.annotate(_job=F("job_id")):
            found[row["_job"]].append(shape.shaped(row) or {})
        return [item | {"errors": found[item["id"]]} for item in items]

    def takes(self, action: str) -> Any:
        binary = {"type": "string", "format": "binary", "minLength": 1}
        return {each: binary for each in MEDIA_TYPES.values()} if action == "create" else None

    def example_request(self, action: str) -> Any:
        return None

    def _asked(self) -> dict[str, Any]:
        """Return the query parameters, each as it was checked."""
        asked: dict[str, Any] = self.request.query_params.dict()
        wrong = {
            name: f"{asked[name]!r} is none of {', '.join(choices)}."
            for name, choices in _CHOICES.items()
            if name in asked and asked[name] not in choices
        }
        try:
            asked["collection"] = uuid.UUID(asked.get("collection", ""))
        except ValueError:
            wrong["collection"] = "is needed: the identifier of the collection to import into."
        if "columns" in asked:
            asked["columns"] = _mapping(asked["columns"])
            if asked["columns"] is None:
                wrong["columns"] = 'must be a JSON object of texts such as {"Datum": "on"}.'
        if wrong:
            raise query_refusal(wrong)
        return asked

    def _member(self, collection: uuid.UUID) -> Member:
        """Return the membership that imports; one that records on no car is refused."""
        member = Member.objects.filter(account=self.account, collection=collection).first()
        if member is None:
            said = {"collection": "There is nothing of this identifier that you may see."}
            raise query_refusal(said)
        if not self.may(member):
            raise PermissionDenied("Your role in the collection does not record on its cars.")
        if self.request.content_type.startswith(MEDIA_TYPES["json"]):
            self._require_right_to_a_history(member)
        return member

    def _require_right_to_a_history(self, member: Member) -> None:
        """A history file adds cars and rules and closes records, which no sheet does."""
        verb = "add a history file"
        if not self.sight.may(verb, "imports", member):
            raise PermissionDenied("Only an officer of the collection imports a history file.")
        if refused := scope_refusal(self.request, verb, "imports"):
            raise PermissionDenied(refused)


def _mapping(text: str) -> dict[str, str] | None:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(found, dict):
        return None
    sound = all(
        isinstance(text, str) and not any(text_problems("", text))
        for pair in found.items()
        for text in pair
    )
    return found if sound else None


class ImportErrorFilters(StrictFilterSet):
    """Errors are read by their import."""

    job = filters.UUIDFilter(field_name="job_id", label="Identifier of an import.")


class ImportErrors(Listed):
    """Everything wrong with the files that you sent, in the order of each file."""

    noun, nouns = "import error", "import errors"
    serializer_class = ImportErrorSerializer
    filterset_class = ImportErrorFilters
    http_method_names = ["get", "head"]
    example = EXAMPLE_ERROR

    def get_queryset(self) -> QuerySet[ImportProblem]:
        return self.in_sight(ImportProblem.objects.all())
