"""The jobs and parts of recommissioning plans."""

import datetime
import functools
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import DayFilter, FlagFilter, OfCollection, filters
from api.resources.described import Changed, Changing, Kept
from api.resources.plan_examples import JOB, PART
from api.resources.service_event_shapes import MeasurementSerializer
from api.serializers import PlanJobInSight, StrictModelSerializer, StrictSerializer
from api.shapes import Row
from maintenance.models import PlanJob, PlanPart, Vehicle
from maintenance.queries.today import this_instant
from maintenance.services.drafts import MeasurementDraft
from maintenance.services.plans import jobs
from maintenance.services.plans.terms import DoneDraft
from maintenance.services.plans.wording import job_name

_OWN = (
    "own_hours",
    "own_hands",
    "own_who",
    "own_uses",
    "other_cost",
    "optional",
    "value",
    "pinned_on",
)


class PlanJobSerializer(StrictModelSerializer):
    """A job: what is planned, what the keeper said of it, and what it took. Hours in [h]."""

    vehicle = serializers.UUIDField(source="plan.vehicle_id", read_only=True)
    name = serializers.CharField(read_only=True, source="*")
    own_who = serializers.ListField(
        child=serializers.CharField(max_length=80),
        required=False,
        max_length=20,
        help_text="Names or skills of those who may do it; empty for the catalogue's.",
    )
    own_uses = serializers.ListField(
        child=serializers.CharField(max_length=80),
        required=False,
        max_length=20,
        help_text="Names of the plan's resources that the job takes beside the catalogue's.",
    )
    critical = serializers.BooleanField(read_only=True, source="*")

    class Meta:
        model = PlanJob
        fields = (
            *("id", "collection", "vehicle", "plan", "version", "sequence", "key", "name"),
            *("component", "kind", "position", "task", "system", "phase", "criticality", "reason"),
            *("hands", "who", "uses", "consumables", "cautions", "sheet_fields"),
            *("hours", "outlay", *_OWN),
            *("state", "starts_on", "starts_at", "ends_on", "ends_at", "people", "float_days"),
            *("critical", "done_on", "hours_taken", "cost_paid", "service_event"),
        )
        read_only_fields = tuple(name for name in fields if name not in _OWN)


class PlanJobChange(PlanJobSerializer):
    """What the keeper says of a job."""


class JobDone(StrictSerializer):
    """How a job was done; it is recorded as a service event."""

    on = serializers.DateField()
    hours = serializers.DecimalField(
        max_digits=6, decimal_places=2, required=False, help_text="Time it took [h]."
    )
    cost = serializers.DecimalField(
        max_digits=12, decimal_places=2, required=False, help_text="Paid for it, without labour."
    )
    odometer = serializers.DecimalField(max_digits=8, decimal_places=1, required=False)
    done_by = serializers.CharField(max_length=120, required=False, allow_blank=True)
    note = serializers.CharField(required=False, allow_blank=True)
    measurement = MeasurementSerializer(required=False)
    plan_again = serializers.BooleanField(
        default=True,
        help_text="Plan the rest again at once, which takes up to the plan's `time_limit`; "
        "false where more jobs are marked after this one.",
    )


class OfPlan(OfCollection):
    """Lists of what belongs to plans."""

    vehicle = filters.UUIDFilter(field_name="plan__vehicle_id", label="Identifier of a vehicle.")
    plan = filters.UUIDFilter(field_name="plan_id", label="Identifier of a plan.")


class PlanJobFilters(OfPlan):
    state = filters.ChoiceFilter(choices=PlanJob.State.choices, label="State.")
    on = DayFilter(field_name="starts_on", label="Day on which it begins.")


class PlanJobs(Changed):
    """Jobs of recommissioning plans, within one plan in their order."""

    noun, nouns = "plan job", "plan jobs"
    http_method_names = ["get", "head", "post", "patch"]
    serializer_class = PlanJobSerializer
    change_class = PlanJobChange
    filterset_class = PlanJobFilters
    verbs = Changed.verbs | {"done": "change"}
    said = {"done": ("Record a job as done", "do_plan_job")}
    example = JOB
    example_change = {"own_hours": 1.5, "pinned_on": "2026-12-05"}

    def get_ordering(self) -> Any:
        return ("sequence", "id") if "plan" in self.request.query_params else ("id",)

    def get_queryset(self) -> QuerySet[PlanJob]:
        return self.in_sight(PlanJob.objects.all())

    def owner_of(self, row: Any) -> Vehicle:
        vehicle: Vehicle = row.plan.vehicle
        return vehicle

    def complete(self, items: list[Row]) -> list[Row]:
        return [
            item
            | {
                "name": job_name(item["task"], item["kind"], item["position"]),
                "critical": item["float_days"] == 0,
            }
            for item in items
        ]

    def change(self, *, row: PlanJob, given: Row, today: datetime.date) -> Any:
        return jobs.change_job(job=row, version=row.version, changes=given, today=today)

    @action(detail=True, methods=["post"])
    def done(self, request: Request, pk: Any) -> Response:
        job = self.instance(pk)
        self.require_right(job.plan.vehicle)
        given = self.given(JobDone)
        measured = given.pop("measurement", None)
        again = given.pop("plan_again")
        draft = DoneDraft(
            **given, measurement=None if measured is None else MeasurementDraft(**measured)
        )
        at, today = this_instant(), self.today_for(job.plan.vehicle)
        jobs.mark_done(job=job, draft=draft, by=self.account, at=at, today=today)
        answer = self.created(pk)
        plan_the_rest = functools.partial(jobs.plan_the_rest, plan=job.plan, at=at, today=today)
        if again and self.under_key:
            # All is one transaction then, and the search must not hold its locks.
            transaction.on_commit(plan_the_rest)
        elif again:
            plan_the_rest()
            # Planned again it has another version; its plan may have been removed meanwhile.
            if self.get_queryset().filter(pk=pk).exists():
                answer = self.created(pk)
        return answer

    def takes(self, action: str) -> Any:
        return JobDone if action == "done" else super().takes(action)

    def example_request(self, action: str) -> Any:
        if action == "done":
            return {"on": "2026-11-28", "hours": 1.25, "cost": 31, "done_by": "Isa Renn"}
        return super().example_request(action)


class PlanPartSerializer(StrictModelSerializer):
    """Something to be bought for a job, and how far its order has got."""

    vehicle = serializers.UUIDField(source="plan.vehicle_id", read_only=True)
    job = PlanJobInSight(help_text="Identifier of the job that needs it.")
    currency = serializers.CharField(source="plan.currency", read_only=True)

    class Meta:
        model = PlanPart
        fields = (
            *("id", "collection", "vehicle", "plan", "version", "job", "name", "part_number"),
            *("supplier", "price", "currency", "quantity", "lead_days", "sold_separately"),
            *("ordered_on", "arrives_on", "needed_on", "order_by"),
        )
        read_only_fields = ("id", "collection", "plan", "version", "needed_on", "order_by")


class PlanPartChange(Changing, PlanPartSerializer):
    """What of a part changes; it stays with its job."""

    stays = ("job",)


class PlanPartFilters(OfPlan):
    job = filters.UUIDFilter(field_name="job_id", label="Identifier of a job.")
    order_by_or_before = DayFilter(
        field_name="order_by", lookup_expr="lte", label="Latest day to order."
    )
    to_order = FlagFilter(
        field_name="order_by",
        lookup_expr="isnull",
        exclude=True,
        label="Only those still to be ordered, or only the others.",
    )


class PlanParts(Kept):
    """Parts lists of recommissioning plans."""

    noun, nouns = "plan part", "plan parts"
    serializer_class = PlanPartSerializer
    change_class = PlanPartChange
    filterset_class = PlanPartFilters
    example = PART
    example_change = {"ordered_on": "2026-11-25", "arrives_on": "2026-12-19"}

    def get_queryset(self) -> QuerySet[PlanPart]:
        return self.in_sight(PlanPart.objects.all())

    def owner_of(self, row: Any) -> Vehicle:
        vehicle: Vehicle = row.plan.vehicle
        return vehicle

    def create(self, request: Request) -> Response:
        given = self.given()
        job = given.pop("job")
        self.require_right(job.plan.vehicle)
        part = jobs.add_part(job=job, given=given, today=self.today_for(job.plan.vehicle))
        return self.created(part.pk)

    def change(self, *, row: PlanPart, given: Row, today: datetime.date) -> Any:
        return jobs.change_part(part=row, version=row.version, changes=given, today=today)

    def remove(self, *, row: PlanPart, today: datetime.date) -> None:
        jobs.remove_part(part=row, version=row.version)
