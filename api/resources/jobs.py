"""What imports and exports share: asked for, answered with 202, and looked at until they end."""

from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, OpenApiResponse
from rest_framework import status
from rest_framework.response import Response

from api.file_bodies import EXAMPLES, MEDIA_TYPES
from api.filters import OfCollection, filters
from api.openapi import NounSchema
from api.resources.base import Listed
from api.serializers import StrictModelSerializer
from maintenance.models.file_jobs import ExportJob, FileJob, ImportJob
from maintenance.queries.today import this_instant
from maintenance.services.file_jobs import run_at_once

JOB_FIELDS = (
    *("id", "collection", "member", "form", "state", "asked_at", "finished_at"),
    *("rows_done", "rows_total"),
)


class JobSchema(NounSchema):
    """Describes a call that begins a job."""

    def get_response_serializers(self) -> Any:
        answers = super().get_response_serializers()
        if self.method != "POST":
            return answers
        begun = OpenApiResponse(self.view.answers(self.view.action), "Begun; ask its address.")
        return {"202": begun} | {code: each for code, each in answers.items() if code != "201"}

    def get_examples(self) -> list[OpenApiExample]:
        examples = super().get_examples()
        for each in examples:
            if self.method == "POST" and each.response_only:
                each.status_codes = ["202"]
        return examples

    def get_override_parameters(self) -> list[Any]:
        headers = super().get_override_parameters()
        for each in headers:
            if each.name == "Location":
                each.response = [202]
                each.description = "Address at which the job tells how far it is."
        return headers


def file_examples(**where: Any) -> list[OpenApiExample]:
    """Return how a file of each form begins, for a body that `where` names."""
    return [
        OpenApiExample(form, EXAMPLES[media_type], media_type=media_type, **where)
        for form, media_type in MEDIA_TYPES.items()
    ]


class JobFilters(OfCollection):
    state = filters.ChoiceFilter(choices=FileJob.State.choices, label="State.")


class Jobs(Listed):
    """A noun whose items are worked on after they were asked for; seen by their member alone."""

    model: Any
    filterset_class = JobFilters
    schema = JobSchema()
    http_method_names = ["get", "head", "post"]

    def get_queryset(self) -> QuerySet[Any]:
        return self.in_sight(self.model.objects.defer("content"))

    def begin(self, job: ImportJob | ExportJob) -> None:
        """Run a job where there is no broker: now, or when the key of the call is kept.

        A job told to end within the transaction of its own beginning could not be begun again.
        """
        run = partial(run_at_once, job, clock=this_instant)
        if self.under_key:
            transaction.on_commit(run)
        else:
            run()

    def begun(self, pk: Any) -> Response:
        """Answer a job just asked for; it may have ended already."""
        address = self.request.build_absolute_uri(self.reverse_action("detail", args=[pk]))
        return Response(
            self.item(pk), status=status.HTTP_202_ACCEPTED, headers={"Location": address}
        )


class JobSerializer(StrictModelSerializer):
    """How far a job is; `rows_done` counts within its present state."""
