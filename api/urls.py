"""Addresses of the API, version 1."""

from django.urls import URLPattern, URLResolver, include, path, re_path
from rest_framework.routers import SimpleRouter

from api.calendar_feed import CalendarFeedAddress
from api.documents import Docs, NoSuchAddress, OpenAPI, ProblemTypePage, ProblemTypes
from api.resources.access_tokens import AccessTokens
from api.resources.attachments import Attachments
from api.resources.calendar_feeds import CalendarFeeds
from api.resources.changes import Changes
from api.resources.collections import Collections
from api.resources.component_kinds import ComponentKinds
from api.resources.components import Components
from api.resources.departures import Departures
from api.resources.due_items import DueItems
from api.resources.exports import Exports
from api.resources.findings import Findings
from api.resources.imports import ImportErrors, Imports
from api.resources.inspections import Inspections
from api.resources.interval_rules import IntervalRules
from api.resources.invitations import Invitations
from api.resources.lay_ups import LayUps
from api.resources.members import Members
from api.resources.odometer_changes import OdometerChanges
from api.resources.odometer_readings import OdometerReadings
from api.resources.papers import Papers
from api.resources.part_offers import PartOffers
from api.resources.plan_jobs import PlanJobs, PlanParts
from api.resources.postponements import Postponements
from api.resources.recommissioning_plans import RecommissioningPlans
from api.resources.reminder_preferences import ReminderPreferences
from api.resources.reminders import Reminders
from api.resources.service_events import ServiceEvents
from api.resources.specification_lines import SpecificationLines
from api.resources.transfers import Transfers
from api.resources.vehicles import Vehicles
from api.resources.visit_plans import VisitPlans
from api.resources.webhook_deliveries import WebhookDeliveries
from api.resources.webhooks import Webhooks
from api.root import Root
from api.unsubscribe import Unsubscribe

NOUNS = {
    "collections": Collections,
    "members": Members,
    "vehicles": Vehicles,
    "specification-lines": SpecificationLines,
    "papers": Papers,
    "components": Components,
    "component-kinds": ComponentKinds,
    "interval-rules": IntervalRules,
    "lay-ups": LayUps,
    "odometer-readings": OdometerReadings,
    "odometer-changes": OdometerChanges,
    "service-events": ServiceEvents,
    "inspections": Inspections,
    "findings": Findings,
    "attachments": Attachments,
    "departures": Departures,
    "due-items": DueItems,
    "postponements": Postponements,
    "recommissioning-plans": RecommissioningPlans,
    "plan-jobs": PlanJobs,
    "plan-parts": PlanParts,
}

#: What belongs to a collection and is seen by all its members.
OF_COLLECTIONS = {
    "part-offers": PartOffers,
}

#: What was made, changed and removed of all these, in its order.
FEEDS = {
    "changes": Changes,
}

#: What is asked and answered, and not kept.
QUESTIONS = {
    "visit-plans": VisitPlans,
}

#: What belongs to one member, or to one account.
OF_MEMBERS = {
    "access-tokens": AccessTokens,
    "reminders": Reminders,
    "reminder-preferences": ReminderPreferences,
    "calendar-feeds": CalendarFeeds,
    "webhooks": Webhooks,
    "webhook-deliveries": WebhookDeliveries,
    "imports": Imports,
    "import-errors": ImportErrors,
    "exports": Exports,
}

#: What is offered by one side and taken by another.
BETWEEN_PEOPLE = {
    "invitations": Invitations,
    "transfers": Transfers,
}

router = SimpleRouter(trailing_slash=False, use_regex_path=False)
for address, view in (
    NOUNS | OF_COLLECTIONS | FEEDS | QUESTIONS | OF_MEMBERS | BETWEEN_PEOPLE
).items():
    router.register(address, view, basename=address)

version_1: list[URLPattern | URLResolver] = [
    path("", include(router.urls)),
    path("openapi.json", OpenAPI.as_view(), name="openapi"),
    path("docs/", Docs.as_view(), name="docs"),
    path("unsubscribe/<str:token>", Unsubscribe.as_view(), name="unsubscribe"),
    path("problems", ProblemTypes.as_view(), name="problems"),
    path("problems/<slug:slug>", ProblemTypePage.as_view(), name="problem"),
]

urlpatterns = [
    path("v1", Root.as_view(nouns=[noun for noun, _, _ in router.registry]), name="root"),
    path("v1/", include(version_1)),
    path("calendar/<str:secret>.ics", CalendarFeedAddress.as_view(), name="calendar-feed"),
    re_path(r"", NoSuchAddress.as_view(), name="no-such-address"),
]
