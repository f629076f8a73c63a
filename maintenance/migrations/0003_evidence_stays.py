"""Let the database itself refuse to change or delete evidence."""

from django.db import migrations

from maintenance.migrations._evidence import guard, unguard

EVIDENCE = (
    "OdometerReading",
    "OdometerChange",
    "LayUp",
    "ServiceEvent",
    "Entry",
    "CarriedOver",
    "Measurement",
    "Inspection",
    "Finding",
    "Postponement",
    "Departure",
    "Attachment",
    "Arrival",
    "TextErasure",
    "HistoryLink",
)


class Migration(migrations.Migration):
    dependencies = [("maintenance", "0002_no_overlapping_lay_ups")]

    operations = [migrations.RunPython(guard(*EVIDENCE), unguard(*EVIDENCE))]
