"""The nouns of the trade as tables, one a file.

A model holds its fields, the constraints that keep its rules, and questions about itself that
need no other row. Verbs that write belong in `services`, reads that span tables in `queries`,
formulas in `engine`.
"""

from maintenance.models.accounts import AccessToken, Account
from maintenance.models.arrivals import Arrival
from maintenance.models.attachments import Attachment
from maintenance.models.calendar_feeds import CalendarEntry, CalendarFeed
from maintenance.models.changes import Change
from maintenance.models.climate import KeptIn, StoreClimateRecord
from maintenance.models.collections import Collection, Member
from maintenance.models.components import Component
from maintenance.models.departures import Departure
from maintenance.models.due_items import DueItem
from maintenance.models.file_jobs import ExportJob, ImportJob, ImportProblem
from maintenance.models.handovers import Handover
from maintenance.models.history_links import HistoryLink
from maintenance.models.inspections import Finding, Inspection
from maintenance.models.interval_rules import IntervalRule
from maintenance.models.invitations import Invitation
from maintenance.models.kept_answers import KeptAnswer
from maintenance.models.lay_ups import LayUp
from maintenance.models.letters import Letter
from maintenance.models.odometer import OdometerChange, OdometerReading
from maintenance.models.papers import Paper
from maintenance.models.part_offers import PartOffer
from maintenance.models.plan_jobs import PlanJob, PlanPart
from maintenance.models.plans import PlanNeed, PlanPerson, PlanResource, RecommissioningPlan
from maintenance.models.postponements import Postponement
from maintenance.models.reminders import Message, NightlyPass, Reminder, ReminderPreference
from maintenance.models.service_events import CarriedOver, Entry, Measurement, ServiceEvent
from maintenance.models.specification import SpecificationLine
from maintenance.models.text_erasures import TextErasure
from maintenance.models.transfers import Transfer
from maintenance.models.vehicles import Vehicle
from maintenance.models.webhooks import Webhook, WebhookAttempt, WebhookDelivery, WebhookSecret

__all__ = [
    "AccessToken",
    "Account",
    "Arrival",
    "Attachment",
    "CalendarEntry",
    "CalendarFeed",
    "CarriedOver",
    "Change",
    "Collection",
    "Component",
    "Departure",
    "DueItem",
    "Entry",
    "ExportJob",
    "Finding",
    "Handover",
    "HistoryLink",
    "ImportJob",
    "ImportProblem",
    "Inspection",
    "IntervalRule",
    "Invitation",
    "KeptAnswer",
    "KeptIn",
    "LayUp",
    "Letter",
    "Measurement",
    "Member",
    "Message",
    "NightlyPass",
    "OdometerChange",
    "OdometerReading",
    "Paper",
    "PartOffer",
    "PlanJob",
    "PlanNeed",
    "PlanPart",
    "PlanPerson",
    "PlanResource",
    "Postponement",
    "RecommissioningPlan",
    "Reminder",
    "ReminderPreference",
    "ServiceEvent",
    "SpecificationLine",
    "StoreClimateRecord",
    "TextErasure",
    "Transfer",
    "Vehicle",
    "Webhook",
    "WebhookAttempt",
    "WebhookDelivery",
    "WebhookSecret",
]
