"""Let the database itself show of a collection nothing to who is not said to see it."""

from django.db import migrations

from maintenance.migrations._second_lock import lock, unlock

OF_COLLECTIONS = (
    "Member",
    "Vehicle",
    "Component",
    "ServiceEvent",
    "Entry",
    "CarriedOver",
    "Measurement",
    "Attachment",
    "CalendarFeed",
    "CalendarEntry",
    "StoreClimateRecord",
    "KeptIn",
    "Departure",
    "Inspection",
    "Finding",
    "Paper",
    "Postponement",
    "DueItem",
    "ImportJob",
    "ExportJob",
    "HistoryLink",
    "IntervalRule",
    "Invitation",
    "LayUp",
    "Transfer",
    "Letter",
    "OdometerReading",
    "OdometerChange",
    "PartOffer",
    "RecommissioningPlan",
    "PlanPerson",
    "PlanResource",
    "PlanNeed",
    "PlanJob",
    "PlanPart",
    "ReminderPreference",
    "Message",
    "Reminder",
    "SpecificationLine",
    "Webhook",
    "WebhookDelivery",
    "Arrival",
    "TextErasure",
    "NightlyPass",
)
#: What hangs on a row of a collection, by the column that says on which.
HANGING = {
    "ImportProblem": "job",
    "WebhookSecret": "webhook",
    "WebhookAttempt": "delivery",
    "Handover": "from_collection",
}


class Migration(migrations.Migration):
    dependencies = [("maintenance", "0003_evidence_stays")]

    operations = [
        migrations.RunPython(lock("Collection", through="id"), unlock("Collection")),
        migrations.RunPython(lock(*OF_COLLECTIONS), unlock(*OF_COLLECTIONS)),
        *(
            migrations.RunPython(lock(model, through=column), unlock(model))
            for model, column in HANGING.items()
        ),
    ]
