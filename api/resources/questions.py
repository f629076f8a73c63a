"""Questions about the time to come: asked by POST because a plan is a body, answered, not kept."""

from typing import Any, ClassVar

from drf_spectacular.utils import OpenApiResponse, extend_schema_field
from rest_framework import serializers

from api.openapi import NounSchema
from api.serializers import NearestChoiceField, StrictSerializer
from maintenance.models import DueItem, IntervalRule, LayUp
from maintenance.services.checks.what_if import MOST_MONTHS
from maintenance.services.drafts import Place
from maintenance.services.trip_check import TripDraft
from maintenance.services.what_if import (
    MONTHS,
    PlanDraft,
    PlannedDistance,
    PlannedLayUp,
    PlannedWork,
)


class QuestionSchema(NounSchema):
    """Describes a call that answers a question and records nothing."""

    def get_response_serializers(self) -> Any:
        recorded = super().get_response_serializers()
        problems = {key: value for key, value in recorded.items() if key != "201"}
        return {"200": OpenApiResponse(self.view.answers(self.view.action), "As asked.")} | problems

    def get_override_parameters(self) -> list[Any]:
        return [each for each in super().get_override_parameters() if each.name != "Location"]


class _Period(StrictSerializer):
    """A serializer with the members `from` and `to`, which Python can't name so."""

    shown_as: ClassVar[dict[str, str]] = {"from_on": "from", "to_on": "to"}

    def get_fields(self) -> dict[str, Any]:
        fields: dict[str, Any] = {}
        for name, field in super().get_fields().items():
            if name in self.shown_as:
                field.source = name
            fields[self.shown_as.get(name, name)] = field
        return fields


def _distance(**kwargs: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=8, decimal_places=1, **kwargs)


class TripQuestion(_Period):
    """A trip; its distance is in the unit of the car's odometer."""

    from_on = serializers.DateField(help_text="Day of departure.")
    to_on = serializers.DateField(help_text="Day of return.")
    distance = _distance(help_text="Distance to be driven, in the odometer's unit.")
    countries = serializers.ListField(
        child=serializers.RegexField(
            "^[A-Za-z]{2}$",
            error_messages={
                "invalid": "is no country code; write the two letters of ISO 3166-1, such as FR"
            },
        ),
        required=False,
        max_length=60,
        help_text="Countries on the way, by their two letters of ISO 3166-1.",
    )


class _Told(NearestChoiceField):
    """A choice that the service looks up, so that its refusal stands beside those of the rest."""

    def to_internal_value(self, data: Any) -> Any:
        return data if isinstance(data, str) else super().to_internal_value(data)


@extend_schema_field({"type": "integer", "minimum": 1, "maximum": MOST_MONTHS})
class _Months(serializers.IntegerField):
    """Months whose number the service checks, for the same reason."""


class PlannedLayUpTerms(_Period):
    """A lay-up to come; the day it ends is a day in use."""

    from_on = serializers.DateField(help_text="First day off the road.")
    to_on = serializers.DateField(help_text="First day back in use.")
    storage = _Told(choices=LayUp.Storage.choices)


class PlannedDistanceTerms(StrictSerializer):
    """A distance to come in the odometer's unit: a year, or in all by a day."""

    amount = _distance()
    by = serializers.DateField(required=False, allow_null=True, help_text="Empty: a year.")


class PlannedWorkTerms(StrictSerializer):
    """Work to be done; `roadworthiness-inspection` with the task inspect is a test passed."""

    kind = serializers.CharField(max_length=60, help_text="Slug of the component kind.")
    position = serializers.CharField(max_length=60, required=False, allow_blank=True)
    task = serializers.CharField(
        max_length=10, help_text="A task of interval rules, repair or refinish."
    )
    on = serializers.DateField()


class ProjectionQuestion(StrictSerializer):
    """A plan; what it leaves out stays as it is on record."""

    lay_ups = PlannedLayUpTerms(many=True, required=False)
    return_on = serializers.DateField(
        required=False, allow_null=True, help_text="Ends the lay-up that lasts."
    )
    distance = PlannedDistanceTerms(required=False, allow_null=True)
    done = PlannedWorkTerms(many=True, required=False)
    months = _Months(required=False)


class TripItem(serializers.Serializer[Any]):
    """A due item as it meets a trip, with what would clear it."""

    component = serializers.CharField(help_text="Slug of the component kind, or of the paper.")
    position = serializers.CharField(allow_blank=True)
    rule = serializers.CharField()
    task = serializers.CharField()
    criticality = serializers.ChoiceField(choices=IntervalRule.Criticality.choices)
    reason = serializers.CharField()
    status = serializers.ChoiceField(choices=DueItem.Status.choices)
    due_on = serializers.DateField(allow_null=True)
    after_distance = serializers.FloatField(
        allow_null=True, help_text="Distance of the trip after which it falls due."
    )
    sentence = serializers.CharField()
    cleared_by = serializers.CharField()
    caution = serializers.CharField(allow_blank=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]


class CertificateSpan(_Period):
    """Days of the trip on which the certificate holds, or does not."""

    from_on = serializers.DateField()
    to_on = serializers.DateField()
    valid = serializers.BooleanField()


class TripInspection(serializers.Serializer[Any]):
    """The roadworthiness certificate on each day of the trip."""

    needed = serializers.BooleanField()
    certificate_until = serializers.DateField(allow_null=True)
    days = CertificateSpan(many=True)
    notes = serializers.ListField(child=serializers.CharField())


class TripPaper(serializers.Serializer[Any]):
    """A paper that goes with the car."""

    kind = serializers.CharField()
    issuer = serializers.CharField(allow_blank=True)
    number = serializers.CharField(allow_blank=True)
    until = serializers.DateField()
    holds_throughout = serializers.BooleanField()


class TripAnswer(_Period):
    """What is to be seen to before a trip, what falls due on it, and what soon after."""

    vehicle = serializers.CharField(help_text="Registration mark.")
    on = serializers.DateField(help_text="The day asked about.")
    from_on = serializers.DateField()
    to_on = serializers.DateField()
    distance = serializers.FloatField()
    odometer_unit = serializers.CharField()
    countries = serializers.ListField(child=serializers.CharField())
    assumes = serializers.ListField(child=serializers.CharField())
    before_departure = TripItem(many=True)
    on_the_way = TripItem(many=True)
    after_return = TripItem(many=True)
    inspection = TripInspection()
    papers = TripPaper(many=True)
    note = serializers.CharField()


class DueToday(serializers.Serializer[Any]):
    """What the due list says of an item as things stand."""

    status = serializers.ChoiceField(choices=DueItem.Status.choices)
    due_on = serializers.DateField(allow_null=True)
    governed_by = serializers.ChoiceField(choices=DueItem.GovernedBy.choices)
    sentence = serializers.CharField()


class DueUnderPlan(serializers.Serializer[Any]):
    """One time that an item falls due under the plan."""

    counted_from = serializers.DateField(allow_null=True)
    due_on = serializers.DateField()
    governed_by = serializers.ChoiceField(choices=DueItem.GovernedBy.choices)
    done_on = serializers.DateField(allow_null=True, help_text="Day on which the plan does it.")
    sentence = serializers.CharField()


class SeasonBand(serializers.Serializer[Any]):
    """When the distance of a rule is reached by the months in which the car is driven."""

    earliest_on = serializers.DateField(allow_null=True, help_text="Early edge of the 80 % band.")
    due_on = serializers.DateField(allow_null=True)
    latest_on = serializers.DateField(allow_null=True, help_text="Empty beyond the plan.")


class ProjectedItem(serializers.Serializer[Any]):
    """An item today and under the plan."""

    component = serializers.CharField()
    position = serializers.CharField(allow_blank=True)
    rule = serializers.CharField()
    task = serializers.CharField()
    criticality = serializers.ChoiceField(choices=IntervalRule.Criticality.choices)
    storage_care = serializers.BooleanField(help_text="Asked for only while the car stands.")
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]
    caution = serializers.CharField(allow_blank=True)
    today = DueToday(allow_null=True)
    projected = DueUnderPlan(many=True)
    says = serializers.CharField(
        allow_blank=True, help_text="Why nothing is projected: done, or nothing on record."
    )
    by_season = SeasonBand(allow_null=True)
    days_later = serializers.IntegerField(
        allow_null=True, help_text="By how many days the plan moves the next due day."
    )


class ProjectionAnswer(serializers.Serializer[Any]):
    """The due list of a car under a plan beside today's."""

    vehicle = serializers.CharField(help_text="Registration mark.")
    on = serializers.DateField(help_text="The day asked about.")
    until = serializers.DateField()
    odometer_unit = serializers.CharField()
    assumes = serializers.ListField(child=serializers.CharField())
    items = ProjectedItem(many=True)
    note = serializers.CharField()


QUESTIONS = {"projection": ProjectionQuestion, "trip_check": TripQuestion}
ANSWERS = {"projection": ProjectionAnswer, "trip_check": TripAnswer}
SAID = {
    "projection": ("Project the due list of a vehicle", "project_vehicle"),
    "trip_check": ("Check a trip of a vehicle", "check_trip_of_vehicle"),
}


def trip_draft(given: dict[str, Any]) -> TripDraft:
    """Return a trip as the service takes it."""
    return TripDraft(**given | {"countries": tuple(given.get("countries", ()))})


def plan_draft(given: dict[str, Any]) -> PlanDraft:
    """Return a plan as the service takes it."""
    distance = given.get("distance")
    return PlanDraft(
        lay_ups=tuple(PlannedLayUp(**each) for each in given.get("lay_ups", ())),
        return_on=given.get("return_on"),
        distance=None if distance is None else PlannedDistance(**distance),
        done=tuple(_work(each) for each in given.get("done", ())),
        months=given.get("months", MONTHS),
    )


def _work(given: dict[str, Any]) -> PlannedWork:
    place = Place(given["kind"], given.get("position", ""))
    return PlannedWork(place=place, task=given["task"], on=given["on"])
