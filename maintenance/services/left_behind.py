"""What of a car is its old collection's own, and ends when the car leaves."""

from maintenance.models import (
    CalendarEntry,
    CalendarFeed,
    ExportJob,
    RecommissioningPlan,
    Reminder,
    Vehicle,
    WebhookDelivery,
)


def leave_behind(*, vehicle: Vehicle) -> None:
    """End all that would let the old collection see a car further, or the new one see into it.

    To be called in the transaction of the hand-over, before the car changes its collection.

    Plans hold the old collection's people, prices and suppliers: work done by them stands in the
    history, the rest is planned anew. Calendars, reminders and webhook messages are told to
    members who no longer see the car. A file of an export may hold its history; whoever needs
    another one asks for it.
    """
    RecommissioningPlan.objects.filter(vehicle=vehicle).delete()
    CalendarFeed.objects.filter(vehicle=vehicle).delete()
    CalendarEntry.objects.filter(vehicle=vehicle).delete()
    ExportJob.objects.filter(collection=vehicle.collection_id).delete()
    told = Reminder.objects.filter(vehicle=vehicle)
    WebhookDelivery.objects.filter(
        collection=vehicle.collection_id,
        key__in=[f"reminder:{pk}" for pk in told.values_list("pk", flat=True)],
    ).delete()
    told.delete()
