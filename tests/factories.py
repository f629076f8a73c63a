"""Rows for tests: an invented club, invented makes, invented people."""

import datetime
import hashlib
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from api.resources.plan_examples import PLAN
from maintenance import models

NOW = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)


class AccountFactory(DjangoModelFactory):
    class Meta:
        model = models.Account

    username = factory.Sequence("keeper{}".format)
    email = factory.LazyAttribute(lambda account: f"{account.username}@harrowmere.example")


class AccessTokenFactory(DjangoModelFactory):
    """A token whose text is `idle_` and its name."""

    class Meta:
        model = models.AccessToken

    account = factory.SubFactory(AccountFactory)
    name = factory.Sequence("workshop tablet {}".format)
    scope = "manage"
    digest = factory.LazyAttribute(
        lambda token: hashlib.sha256(f"idle_{token.name}".encode()).hexdigest()
    )
    issued_at = NOW
    expires_at = NOW + datetime.timedelta(days=3650)


class CollectionFactory(DjangoModelFactory):
    class Meta:
        model = models.Collection

    name = factory.Sequence("Harrowmere Motor Club {}".format)
    time_zone = "UTC"


class MemberFactory(DjangoModelFactory):
    class Meta:
        model = models.Member

    collection = factory.SubFactory(CollectionFactory)
    account = factory.SubFactory(AccountFactory)
    name = factory.LazyAttribute(lambda member: member.account.username)
    role = "secretary"


class InvitationFactory(DjangoModelFactory):
    """An invitation whose secret nobody has."""

    class Meta:
        model = models.Invitation

    collection = factory.SubFactory(CollectionFactory)
    email = factory.Sequence("guest{}@harrowmere.example".format)
    role = "keeper"
    digest = factory.Sequence("{:064}".format)
    invited_at = NOW
    expires_at = NOW + datetime.timedelta(days=14)


class VehicleFactory(DjangoModelFactory):
    class Meta:
        model = models.Vehicle

    collection = factory.SubFactory(CollectionFactory)
    registration = factory.Sequence("HM {}".format)
    make = "Tarnbrook"
    model = "Heron"
    built_on = datetime.date(1968, 3, 4)
    first_registered_on = datetime.date(1968, 5, 1)
    odometer_unit = "km"
    odometer_digits = 5
    inspection_regime = "gb"


class ComponentFactory(DjangoModelFactory):
    class Meta:
        model = models.Component

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    kind = "brake-fluid"


class EvidenceFactory(DjangoModelFactory):
    class Meta:
        abstract = True

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    recorded_at = NOW


class LayUpFactory(EvidenceFactory):
    class Meta:
        model = models.LayUp

    from_on = datetime.date(2025, 10, 1)
    to_on = datetime.date(2026, 4, 1)
    storage = "dry"


class OdometerReadingFactory(EvidenceFactory):
    class Meta:
        model = models.OdometerReading

    on = datetime.date(2026, 5, 1)
    value = Decimal(48000)


class OdometerChangeFactory(EvidenceFactory):
    class Meta:
        model = models.OdometerChange

    on = datetime.date(2026, 6, 1)
    old_value = Decimal(48100)
    new_value = Decimal(0)


class ServiceEventFactory(EvidenceFactory):
    class Meta:
        model = models.ServiceEvent

    on = datetime.date(2026, 5, 1)
    until = factory.SelfAttribute("on")
    on_stated = factory.LazyAttribute(lambda event: event.on.isoformat())
    done_by = "Mere Lane Garage"


class EntryFactory(DjangoModelFactory):
    class Meta:
        model = models.Entry

    event = factory.SubFactory(ServiceEventFactory)
    collection = factory.SelfAttribute("event.collection")
    sequence = factory.LazyAttribute(lambda entry: entry.event.entries.count())
    component = factory.SubFactory(
        ComponentFactory, vehicle=factory.SelfAttribute("..event.vehicle")
    )
    action = "renew"


class CarriedOverFactory(DjangoModelFactory):
    class Meta:
        model = models.CarriedOver

    entry = factory.SubFactory(EntryFactory)
    collection = factory.SelfAttribute("entry.collection")
    component = factory.SubFactory(
        ComponentFactory,
        vehicle=factory.SelfAttribute("..entry.component.vehicle"),
        assembly=factory.SelfAttribute("..entry.component"),
        kind="ball-joint-boot",
    )


class MeasurementFactory(DjangoModelFactory):
    class Meta:
        model = models.Measurement

    entry = factory.SubFactory(EntryFactory, action="measure")
    collection = factory.SelfAttribute("entry.collection")
    quantity = "water_content"
    value = Decimal("1.5")
    unit = "%"


class InspectionFactory(EvidenceFactory):
    class Meta:
        model = models.Inspection

    on = datetime.date(2026, 5, 20)
    result = "pass"
    certificate = factory.Sequence("RW{:06}".format)


class FindingFactory(DjangoModelFactory):
    class Meta:
        model = models.Finding

    inspection = factory.SubFactory(InspectionFactory, result="fail")
    collection = factory.SelfAttribute("inspection.collection")
    sequence = factory.LazyAttribute(lambda finding: finding.inspection.findings.count())
    component = factory.SubFactory(
        ComponentFactory, vehicle=factory.SelfAttribute("..inspection.vehicle")
    )
    category = "major"


class AttachmentFactory(EvidenceFactory):
    """An attachment whose file is nowhere."""

    class Meta:
        model = models.Attachment

    service_event = factory.SubFactory(
        ServiceEventFactory, vehicle=factory.SelfAttribute("..vehicle")
    )
    name = "invoice.pdf"
    media_type = "application/pdf"
    size = 1204
    sha256 = "a" * 64


class DepartureFactory(EvidenceFactory):
    class Meta:
        model = models.Departure

    on = datetime.date(2026, 11, 20)
    how = "sold"


class PostponementFactory(EvidenceFactory):
    class Meta:
        model = models.Postponement

    item_key = "inspection"
    kind = "roadworthiness-inspection"
    rule = "roadworthiness inspection"
    until = datetime.date(2026, 12, 24)
    why = "The test is booked."


class IntervalRuleFactory(DjangoModelFactory):
    class Meta:
        model = models.IntervalRule

    collection = factory.SubFactory(CollectionFactory)
    name = "brake fluid renewal"
    kind = "brake-fluid"
    task = "renew"
    months = 24
    criticality = "safety"
    source = "common practice"


class PaperFactory(DjangoModelFactory):
    class Meta:
        model = models.Paper

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    kind = "insurance"
    issuer = "Mere Mutual"
    number = factory.Sequence("P{:05}".format)
    until = datetime.date(2027, 3, 31)


class SpecificationLineFactory(DjangoModelFactory):
    class Meta:
        model = models.SpecificationLine

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    item = factory.Sequence("tyre pressure {}".format)
    value = "1.9"
    unit = "bar"
    handbook_page = "p. 71"


class DueItemFactory(DjangoModelFactory):
    """A stored answer that no engine gave; for tests of lists, not of figures."""

    class Meta:
        model = models.DueItem

    component = factory.SubFactory(ComponentFactory)
    vehicle = factory.SelfAttribute("component.vehicle")
    collection = factory.SelfAttribute("vehicle.collection")
    key = factory.Sequence("rule:{}".format)
    kind = factory.SelfAttribute("component.kind")
    position = factory.SelfAttribute("component.position")
    rule = "brake fluid renewal"
    task = "renew"
    criticality_rank = 0
    due_on = datetime.date(2027, 1, 15)
    governed_by = "time"
    sentence = "24 months from the renewal on 2025-01-15."
    source = "common practice"
    order_day = factory.SelfAttribute("due_on")
    changed_on = NOW.date()


class RecommissioningPlanFactory(DjangoModelFactory):
    """A plan that nobody has solved; for tests of who sees it."""

    class Meta:
        model = models.RecommissioningPlan

    vehicle = factory.SubFactory(VehicleFactory)
    collection = factory.SelfAttribute("vehicle.collection")
    starts_on = datetime.date(2026, 11, 28)
    by = datetime.date(2027, 3, 31)
    state = "changed"
    planned_on = NOW.date()
    planned_at = NOW
    result = PLAN["result"]
    result = factory.LazyFunction(
        lambda: {
            "ready_on": None,
            "finished_on": None,
            "immobile_days": None,
            "critical_jobs": [],
            "left_out": [],
            "stages": [],
            "proven": False,
            "cut_short": False,
            "costs": None,
            "conflict": None,
            "assemblies": [],
            "done_again": [],
            "without_price": [],
            "papers": [],
            "estimates": {
                "jobs_done": 0,
                "hours_estimated": 0,
                "hours_taken": 0,
                "hours_ratio": None,
                "mean_hours_off": None,
                "cost_estimated": 0,
                "cost_paid": 0,
                "cost_ratio": None,
            },
            "notes": [],
        }
    )


class PlanJobFactory(DjangoModelFactory):
    class Meta:
        model = models.PlanJob

    plan = factory.SubFactory(RecommissioningPlanFactory)
    collection = factory.SelfAttribute("plan.collection")
    key = factory.Sequence("job {}".format)
    kind = "brake-hose"
    task = "renew"
    criticality = "safety"
    hours = 1


class PlanPartFactory(DjangoModelFactory):
    class Meta:
        model = models.PlanPart

    job = factory.SubFactory(PlanJobFactory)
    plan = factory.SelfAttribute("job.plan")
    collection = factory.SelfAttribute("plan.collection")
    name = factory.Sequence("hose {}".format)
    price = 12
