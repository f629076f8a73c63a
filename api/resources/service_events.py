"""What was done on a car on one day: the event, its entries and their measurements at once."""

from collections import defaultdict
from typing import Any

from django.db.models import F, QuerySet
from rest_framework.exceptions import PermissionDenied

from api.filters import OfHistory, filters
from api.resources.events_at_once import SAID, EventsAtOnce
from api.resources.recorded import EXAMPLE_ORIGIN, Corrected
from api.resources.service_event_shapes import (
    EntrySerializer,
    ServiceEventCorrection,
    ServiceEventSerializer,
    cars_moved_to,
    event_draft,
)
from api.shapes import Row, shape_of
from maintenance.models import CarriedOver, Entry, ServiceEvent, Vehicle
from maintenance.services import service_events


class ServiceEventFilters(OfHistory):
    component_kind = filters.CharFilter(
        method="with_kind", label="Slug of a component kind that an entry is about."
    )

    def with_kind(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return queryset.filter(
            pk__in=Entry.objects.filter(component__kind=value).values("event_id")
        )


class ServiceEvents(EventsAtOnce, Corrected):
    """Service events with their entries and measurements."""

    noun, nouns = "service event", "service events"
    serializer_class = ServiceEventSerializer
    correction_class = ServiceEventCorrection
    filterset_class = ServiceEventFilters
    verbs = Corrected.verbs | EventsAtOnce.verbs | {"create": "record"}
    said = SAID
    example = EXAMPLE_ORIGIN | {
        "on": "2026-05-02",
        "earliest_on": "2026-05-02",
        "latest_on": "2026-05-02",
        "odometer": 47610,
        "odometer_unit": "mi",
        "done_by": "Lower Mill Garage",
        "cost": 84.5,
        "currency": "EUR",
        "note": "Fluid changed and pads measured after the winter.",
        "entries": [
            {
                "id": "01931b5e-7f01-7c31-8f2a-5a6c0f1e2d3d",
                "component": "01931b5e-7c00-7b22-8a3b-1c2d3e4f5062",
                "kind": "brake-fluid",
                "position": "",
                "action": "renew",
                "manufactured": "",
                "date_code": "",
                "manufactured_on": None,
                "part_number": "DOT 4",
                "supplier": "",
                "price": 12.5,
                "carried_over": [],
                "measurement": None,
                "note": "",
                "to": None,
            },
            {
                "id": "01931b5e-7f02-7c31-8f2a-5a6c0f1e2d3e",
                "component": "01931b5e-7c01-7b22-8a3b-1c2d3e4f5063",
                "kind": "brake-pads",
                "position": "front",
                "action": "measure",
                "manufactured": "",
                "date_code": "",
                "manufactured_on": None,
                "part_number": "",
                "supplier": "",
                "price": None,
                "carried_over": [],
                "measurement": {"quantity": "lining_thickness", "value": 6.2, "unit": "mm"},
                "note": "",
                "to": None,
            },
        ],
    }

    def get_queryset(self) -> QuerySet[ServiceEvent]:
        return self.in_sight(ServiceEvent.objects.all())

    def complete(self, items: list[Row]) -> list[Row]:
        entries = _entries([item["id"] for item in items])
        return [item | {"entries": entries[item["id"]]} for item in items]

    def record(self, *, vehicle: Vehicle, given: Row, **when: Any) -> ServiceEvent:
        self.refuse_cars_of_others(given)
        draft = event_draft(given, vehicle)
        return service_events.record_service_event(vehicle=vehicle, draft=draft, **when)

    def correct(self, *, record: Any, given: Row, reason: str, **when: Any) -> ServiceEvent:
        self.refuse_cars_of_others(given)
        draft = event_draft(given, record.vehicle)
        return service_events.correct_service_event(
            event=record, draft=draft, reason=reason, **when
        )

    def refuse_cars_of_others(self, given: Row) -> None:
        """Refuse a move to a car on which the account may record nothing."""
        if not all(self.may(car) for car in cars_moved_to(given)):
            raise PermissionDenied("Your role does not record on the car the part went to.")


def _entries(events: list[Any]) -> defaultdict[Any, list[Row]]:
    """Return the entries of events, by event; two queries however many there are."""
    shape = shape_of(EntrySerializer)
    rows = shape.read(Entry.objects.filter(event__in=events).order_by("event_id", "sequence"))
    found: defaultdict[Any, list[Row]] = defaultdict(list)
    carried = _carried_over(events)
    for row in rows.annotate(_event=F("event_id")):
        entry = shape.shaped(row) or {}
        found[row["_event"]].append(entry | {"carried_over": carried[entry["id"]]})
    return found


def _carried_over(events: list[Any]) -> defaultdict[Any, list[Row]]:
    rows = CarriedOver.objects.filter(entry__event__in=events).order_by("id")
    found: defaultdict[Any, list[Row]] = defaultdict(list)
    for entry, kind, position in rows.values_list(
        "entry_id", "component__kind", "component__position"
    ):
        found[entry].append({"kind": kind, "position": position})
    return found
