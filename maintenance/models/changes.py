from django.db import models


class Change(models.Model):
    """That a row was made, changed or removed: a line of the feed by which clients mirror.

    Lines are written by triggers (`models.change_triggers`), in the transaction of what they tell
    of. They name rows without referring to them, since they outlive them.
    """

    class What(models.TextChoices):
        CREATED = "created"
        CHANGED = "changed"
        REMOVED = "removed"

    id = models.BigAutoField(primary_key=True)
    xid = models.BigIntegerField(
        help_text="The writing transaction on PostgreSQL; 0 on SQLite, where writers queue."
    )
    noun = models.CharField(max_length=40)
    record = models.UUIDField(help_text="Identifier of the row.")
    change = models.CharField(max_length=8, choices=What.choices)
    vehicle = models.UUIDField(null=True, help_text="The car it belongs to, where it is one's.")
    collection = models.UUIDField()
    account = models.UUIDField(
        null=True, help_text="The only account that is told; empty where all who see the row are."
    )
    at = models.DateTimeField()

    class Meta:
        indexes = [
            # The feed, from a place on: queries.changes.
            models.Index(
                fields=["collection", "xid", "id"],
                condition=models.Q(account__isnull=True),
                name="change_in_collection",
            ),
            models.Index(
                fields=["account", "xid", "id"],
                condition=models.Q(account__isnull=False),
                name="change_for_account",
            ),
            models.Index(fields=["xid", "id"], name="change_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.noun} {self.record} {self.change}"
