"""Files that members ask for, of the cars that they may see."""

from typing import Any

from django.http import Http404
from drf_spectacular.utils import OpenApiExample, OpenApiResponse
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.file_bodies import MEDIA_TYPES, AsItIs, FileRenderer
from api.permissions import scope_refusal
from api.resources.jobs import JOB_FIELDS, Jobs, JobSchema, JobSerializer, file_examples
from api.serializers import (
    CollectionInSight,
    MemberInSight,
    NearestChoiceField,
    StrictSerializer,
)
from api.shapes import Row
from maintenance.models import ExportJob, Member
from maintenance.models.file_jobs import FileForm
from maintenance.queries.today import this_instant
from maintenance.services.file_jobs import request_export

ABOUT_A_PERSON = "add about a person"


class ExportRequest(StrictSerializer):
    """Which collection, and in which form: entries as a sheet, or all as a history file."""

    collection = CollectionInSight(help_text="Identifier of the collection.")
    form = NearestChoiceField(choices=FileForm.choices, help_text="`csv`, `xlsx` or `json`.")
    about = MemberInSight(
        required=False,
        allow_null=True,
        help_text="A member of whom all is told that is held, in place of cars; `json` alone.",
    )


class ExportSerializer(JobSerializer):
    """An export; once it is done its content is kept for a week."""

    class Meta:
        model = ExportJob
        fields = (*JOB_FIELDS, "about")
        read_only_fields = fields


class ContentSchema(JobSchema):
    """Describes the file itself."""

    def get_examples(self) -> list[OpenApiExample]:
        return file_examples(response_only=True, status_codes=["200"])

    def get_response_serializers(self) -> Any:
        answers = super().get_response_serializers()
        problems = {code: each for code, each in answers.items() if code != "200"}
        binary = {"type": "string", "format": "binary"}
        files = {
            ("200", media_type): OpenApiResponse(binary, "The file.")
            for media_type in MEDIA_TYPES.values()
        }
        return files | problems


class Exports(Jobs):
    """Your exports."""

    noun, nouns = "export", "exports"
    model = ExportJob
    serializer_class = ExportSerializer
    verbs = Jobs.verbs | {"content": "see"}
    said = {
        "create": ("Export a file", "export_file"),
        "content": ("Read the file of an export", "read_export_content"),
    }
    example: Row = {
        "id": "01931b5e-7f40-7a11-9d2e-0b1c2d3e4f82",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "member": "01931b5e-7900-7a11-9d2e-0b1c2d3e4f40",
        "form": "xlsx",
        "state": "done",
        "asked_at": "2026-11-25T09:30:00Z",
        "finished_at": "2026-11-25T09:30:01Z",
        "rows_done": 412,
        "rows_total": 412,
        "about": None,
    }

    def create(self, request: Request) -> Response:
        given = self.given(ExportRequest)
        member = Member.objects.get(account=self.account, collection=given["collection"])
        if not self.may(member):
            raise PermissionDenied("Your role in the collection does not export.")
        about: Member | None = given.get("about")
        if about is not None:
            self._require_to_be_told_of(about, member)
        job = request_export(member=member, form=given["form"], about=about, at=this_instant())
        self.begin(job)
        return self.begun(job.pk)

    def _require_to_be_told_of(self, about: Member, asking: Member) -> None:
        if refusal := scope_refusal(self.request, ABOUT_A_PERSON, "exports"):
            raise PermissionDenied(refusal)
        in_this_collection = about.collection_id == asking.collection_id
        if not in_this_collection or not self.sight.may(ABOUT_A_PERSON, "exports", about):
            raise PermissionDenied("Members are told of themselves; a secretary of any member.")

    @action(
        detail=True,
        methods=["get"],
        renderer_classes=[FileRenderer],
        content_negotiation_class=AsItIs,
        schema=ContentSchema(),
    )
    def content(self, request: Request, pk: Any) -> Response:
        job = self.instance(pk)
        if job.state != ExportJob.State.DONE:
            raise Http404
        name = f"entries.{job.form}" if job.form != FileForm.JSON else "history.json"
        name = name if job.about_id is None else "person.json"
        return Response(
            bytes(job.content),
            content_type=MEDIA_TYPES[job.form],
            headers={"Content-Disposition": f'attachment; filename="{name}"'},
        )

    def takes(self, action: str) -> Any:
        return ExportRequest if action == "create" else None

    def example_request(self, action: str) -> Any:
        if action != "create":
            return None
        return {"collection": self.example["collection"], "form": "xlsx"}

    def example_answer(self, action: str) -> Any:
        return None if action == "content" else super().example_answer(action)
