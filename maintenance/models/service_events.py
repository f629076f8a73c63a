from django.db import models

from maintenance.models.base import Evidence, Sealed, TenantRow, a_reason_with_every_correction
from maintenance.models.components import Component
from maintenance.models.vehicles import Vehicle


class ServiceEvent(Evidence):
    """What was done on one day at one odometer reading, by whom, at what cost."""

    TEXTS = ("reason", "done_by", "note")

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="service_events")
    on_stated = models.CharField(
        max_length=10,
        help_text="The day as stated: a date, or a month or year where no more is known.",
    )
    on = models.DateField(help_text="Earliest day of what is stated.")
    until = models.DateField(help_text="Latest day of what is stated.")
    odometer = models.DecimalField(max_digits=8, decimal_places=1, null=True, blank=True)
    done_by = models.CharField(max_length=120, blank=True)
    cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(until__gte=models.F("on")), name="event_day_span_runs_forward"
            ),
            models.CheckConstraint(
                condition=models.Q(odometer__isnull=True) | models.Q(odometer__gte=0),
                name="no_negative_odometer_on_event",
            ),
            models.CheckConstraint(
                condition=models.Q(cost__isnull=True)
                | (models.Q(cost__gte=0) & ~models.Q(currency="")),
                name="event_cost_has_a_currency",
            ),
            a_reason_with_every_correction("service_event"),
        ]
        indexes = [
            # The API's list of all cars, page by page: api.paging.
            models.Index(fields=["collection", "id"], name="event_in_collection"),
            # A car's history in order of days: queries.histories, and the API's list.
            models.Index(fields=["vehicle", "on"], name="event_by_vehicle_and_day"),
        ]

    def __str__(self) -> str:
        return f"{self.on_stated}: {self.note or self.done_by}"


class Entry(Sealed):
    """One action on one component, part of a service event and as unchangeable as it."""

    TEXTS = ("note",)

    class Action(models.TextChoices):
        RENEW = "renew"
        OVERHAUL = "overhaul"
        INSPECT = "inspect"
        MEASURE = "measure"
        ADJUST = "adjust"
        LUBRICATE = "lubricate"
        TOP_UP = "top_up", "top up"
        CLEAN = "clean"
        REPAIR = "repair"
        REFINISH = "refinish"
        MOVE = "move"
        REMOVE = "remove"

    event = models.ForeignKey(ServiceEvent, on_delete=models.PROTECT, related_name="entries")
    sequence = models.PositiveSmallIntegerField(help_text="Place within the event, from 0.")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="entries")
    action = models.CharField(max_length=10, choices=Action.choices)
    manufactured = models.CharField(
        max_length=10, blank=True, help_text="As stated: a date, an ISO week or a quarter."
    )
    date_code = models.CharField(max_length=6, blank=True, help_text="A tyre's date code.")
    manufactured_on = models.DateField(
        null=True, blank=True, help_text="Earliest day of what `manufactured` or the code says."
    )
    part_number = models.CharField(max_length=80, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    price = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    note = models.TextField(blank=True)
    moved_to = models.ForeignKey(
        Component,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="moves_here",
        help_text="Place to which a move takes the part.",
    )

    class Meta:
        verbose_name_plural = "entries"
        constraints = [
            models.UniqueConstraint(fields=["event", "sequence"], name="entry_place_in_its_event"),
            models.CheckConstraint(
                condition=models.Q(price__isnull=True) | models.Q(price__gte=0),
                name="no_negative_price",
            ),
            models.CheckConstraint(
                condition=models.Q(moved_to__isnull=True) | models.Q(action="move"),
                name="only_a_move_goes_somewhere",
            ),
        ]
        indexes = [
            # Which cars are linked by parts that moved between them: queries.moves.
            models.Index(
                fields=["collection"],
                condition=models.Q(moved_to__isnull=False),
                name="entry_that_moves_a_part",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.action} {self.component}"


class CarriedOver(TenantRow):
    """A part that an assembly's renewal left as it was."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="carried_over")
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "parts carried over"
        constraints = [
            models.UniqueConstraint(fields=["entry", "component"], name="carried_over_once"),
        ]


class Measurement(TenantRow):
    """A quantity read on an entry, with its unit."""

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="measurement")
    quantity = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=12)

    def __str__(self) -> str:
        return f"{self.quantity} {self.value.normalize():f} {self.unit}"
