"""What a recommissioning plan is asked for and what it answers, as serializers."""

import datetime
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.serializers import (
    NearestChoiceField,
    StrictModelSerializer,
    StrictSerializer,
    VehicleInSight,
)
from api.shapes import Row
from maintenance.models import RecommissioningPlan
from maintenance.services.plans.terms import (
    LONGEST_SEARCH,
    WEEKDAYS,
    HoursDraft,
    PersonDraft,
    RecommissioningDraft,
    ResourceDraft,
    SpanDraft,
)

_CLOCK = "%H:%M"


class Span(StrictSerializer):
    """Days from the first to the last, both included."""

    shown_as: ClassVar[dict[str, str]] = {"from_on": "from", "to_on": "to"}

    from_on = serializers.DateField()
    to_on = serializers.DateField()

    def get_fields(self) -> dict[str, Any]:
        fields = {}
        for name, field in super().get_fields().items():
            # Python can't name a member `from`.
            field.source = name
            fields[self.shown_as[name]] = field
        return fields


@extend_schema_field({"type": "string", "pattern": r"^\d{2}:\d{2}$"})
class ClockField(serializers.TimeField):
    """A local time of day, which the format `time` of JSON Schema does not take without a zone."""


class Hours(StrictSerializer):
    """Hours worked on one weekday, every week, local time."""

    weekday = NearestChoiceField(choices=WEEKDAYS)
    begins_at = ClockField(format=_CLOCK, input_formats=[_CLOCK])
    ends_at = ClockField(format=_CLOCK, input_formats=[_CLOCK])


def _money(**kwargs: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=12, decimal_places=2, **kwargs)


def _words(**kwargs: Any) -> serializers.ListField:
    child = serializers.CharField(max_length=80)
    return serializers.ListField(child=child, required=False, max_length=30, **kwargs)


class Person(StrictSerializer):
    """Somebody who works on the car."""

    name = serializers.CharField(max_length=80)
    hours = Hours(many=True)
    skills = _words(help_text="What this person may do beyond what anyone may.")
    away = Span(many=True, required=False)
    cost_per_hour = _money(required=False, help_text="In the plan's currency.")


class SharedResource(StrictSerializer):
    """Something that jobs share: `axle stands` (pairs), `press`, `bench`, a `lift` that takes their
    place, a `rented place` in which all is done, or a tool of any name with what it is used for.
    """

    name = serializers.CharField(max_length=80)
    capacity = serializers.IntegerField(required=False, min_value=1, max_value=100)
    daily_cost = _money(required=False)
    whole_span = serializers.BooleanField(
        required=False, help_text="Paid from the first use to the last, as a rented place is."
    )
    weekdays = serializers.ListField(
        child=NearestChoiceField(choices=WEEKDAYS),
        required=False,
        max_length=7,
        help_text="Days on which it can be had; empty for all.",
    )
    closed = Span(many=True, required=False)
    used_for = serializers.ListField(
        child=serializers.CharField(max_length=60),
        required=False,
        max_length=50,
        help_text="Component kinds whose jobs need it; must be given for what the rules about "
        "jobs do not know.",
    )


class Stage(serializers.Serializer[Any]):
    """One thing made as small as can be, and the bound proven for it."""

    name = serializers.CharField()
    unit = serializers.CharField()
    value = serializers.FloatField()
    bound = serializers.FloatField()
    proven = serializers.BooleanField()


class SupplierShare(serializers.Serializer[Any]):
    supplier = serializers.CharField()
    amount = serializers.FloatField()


class SystemShare(serializers.Serializer[Any]):
    system = serializers.CharField()
    amount = serializers.FloatField()


class PlanCosts(serializers.Serializer[Any]):
    """What is still to be paid, and what was, in the plan's currency."""

    total = serializers.FloatField()
    parts = serializers.FloatField()
    consumables = serializers.FloatField()
    outside_work = serializers.FloatField()
    labour = serializers.FloatField()
    hire = serializers.FloatField()
    spent = serializers.FloatField()
    budget = serializers.FloatField(allow_null=True)
    left_of_budget = serializers.FloatField(allow_null=True)
    by_supplier = SupplierShare(many=True)
    by_system = SystemShare(many=True)


class PlanConflict(serializers.Serializer[Any]):
    """Demands that can't hold together, and what could be had without deadline and budget."""

    words = serializers.CharField()
    demands = serializers.ListField(child=serializers.CharField())
    smallest = serializers.BooleanField(help_text="Proven: without any one the others can hold.")
    ready_on_without = serializers.DateField(allow_null=True)
    cost_without = serializers.FloatField(allow_null=True)


class EstimateErrors(serializers.Serializer[Any]):
    """How far the estimates of finished jobs were off; ratios above 1 took more."""

    jobs_done = serializers.IntegerField()
    hours_estimated = serializers.FloatField()
    hours_taken = serializers.FloatField()
    hours_ratio = serializers.FloatField(allow_null=True)
    mean_hours_off = serializers.FloatField(allow_null=True)
    cost_estimated = serializers.FloatField()
    cost_paid = serializers.FloatField()
    cost_ratio = serializers.FloatField(allow_null=True)


def _lines(**kwargs: Any) -> serializers.ListField:
    return serializers.ListField(child=serializers.CharField(), **kwargs)


class PlanResult(serializers.Serializer[Any]):
    """What the last planning said of the whole plan."""

    ready_on = serializers.DateField(
        allow_null=True, help_text="In whose evening the car is ready for inspection."
    )
    finished_on = serializers.DateField(allow_null=True)
    immobile_days = serializers.IntegerField(allow_null=True)
    critical_jobs = _lines(
        help_text="A working day later, and the car is ready later, whoever does it."
    )
    left_out = _lines(help_text="Optional jobs for which time or money does not reach.")
    stages = Stage(many=True)
    proven = serializers.BooleanField()
    cut_short = serializers.BooleanField(help_text="The clock ended the search.")
    costs = PlanCosts(allow_null=True)
    conflict = PlanConflict(allow_null=True)
    assemblies = _lines(help_text="Where an assembly was weighed against its pieces.")
    done_again = _lines(help_text="Finished jobs that new work calls for once more.")
    without_price = _lines(help_text="Renewals that the cost counts nothing for.")
    papers = _lines(help_text="Papers that run out before the car is back on the road.")
    estimates = EstimateErrors()
    notes = _lines()


@extend_schema_field(PlanResult)
class ResultField(serializers.JSONField):
    """The result as it is stored."""


class RecommissioningPlanSerializer(StrictModelSerializer):
    """How a car comes back to the road; its jobs and parts are nouns of their own."""

    vehicle = VehicleInSight(help_text="Identifier of the vehicle.")
    closed = Span(many=True, required=False)
    people = Person(many=True)
    resources = SharedResource(many=True, required=False)
    time_limit = serializers.IntegerField(required=False, min_value=1, max_value=LONGEST_SEARCH)
    seed = serializers.IntegerField(required=False, min_value=0, max_value=2**31 - 1)
    result = ResultField(read_only=True)

    class Meta:
        model = RecommissioningPlan
        fields = (
            *("id", "collection", "vehicle", "version", "starts_on", "by", "budget", "currency"),
            *("rate_per_hour", "closed", "people", "resources", "seed", "time_limit"),
            *("state", "planned_on", "planned_at", "result"),
        )
        read_only_fields = ("id", "collection", "version", "state", "planned_on", "planned_at")
        extra_kwargs = {"starts_on": {"required": False}}


def drafted(given: Row, today: datetime.date) -> RecommissioningDraft:
    """Return the terms of a request as the service takes them."""
    values: Row = {"starts_on": today, **draft_values(given)}
    return RecommissioningDraft(**values)


def draft_values(given: Row) -> Row:
    """Return what a request says of the terms, as values of the draft."""
    made = {
        "people": lambda rows: tuple(map(_person, rows)),
        "resources": lambda rows: tuple(map(_resource, rows)),
        "closed": _spans,
    }
    return {name: made[name](value) if name in made else value for name, value in given.items()}


def _person(given: Row) -> PersonDraft:
    return PersonDraft(
        **given
        | {
            "hours": tuple(HoursDraft(**one) for one in given["hours"]),
            "skills": tuple(given.get("skills", ())),
            "away": _spans(given.get("away", ())),
        }
    )


def _resource(given: Row) -> ResourceDraft:
    return ResourceDraft(
        **given
        | {
            "weekdays": tuple(given.get("weekdays", ())),
            "closed": _spans(given.get("closed", ())),
            "used_for": tuple(given.get("used_for", ())),
        }
    )


def _spans(given: Any) -> tuple[SpanDraft, ...]:
    return tuple(SpanDraft(**one) for one in given)
