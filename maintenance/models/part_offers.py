from django.db import models

from maintenance.models.base import Editable


class PartOffer(Editable):
    """What a part costs at one supplier, and how long it takes to come.

    Offers of one name are alternatives, offers of different names for the same component are
    bought together. One that is `not sold_separately` says that the part comes with an assembly
    alone.
    """

    kind = models.CharField(max_length=60, help_text="Slug of the component kind it is for.")
    position = models.CharField(
        max_length=60, blank=True, help_text="Where it fits; empty for every position."
    )
    make = models.CharField(max_length=60, blank=True, help_text="Empty for every make.")
    model = models.CharField(max_length=60, blank=True, help_text="Empty for every model.")
    name = models.CharField(max_length=120, help_text="What is written on the order.")
    part_number = models.CharField(max_length=80, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    price = models.DecimalField(max_digits=12, decimal_places=2, help_text="Price of one.")
    currency = models.CharField(max_length=3)
    quantity = models.PositiveSmallIntegerField(default=1, help_text="How many a component takes.")
    lead_days = models.PositiveSmallIntegerField(
        default=0, help_text="Calendar days from the order to the arrival [days]."
    )
    sold_separately = models.BooleanField(
        default=True, help_text="False where it comes only as a piece of an assembly."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["collection", "kind", "position", "make", "model", "name", "supplier"],
                name="part_offered_once_by_a_supplier",
                violation_error_message="The supplier offers this part already; change that offer.",
            ),
            models.CheckConstraint(
                condition=models.Q(price__gte=0),
                name="no_negative_price_of_an_offer",
                violation_error_message="A price is not negative.",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1),
                name="an_offer_is_of_at_least_one",
                violation_error_message="A component takes at least one.",
            ),
            models.CheckConstraint(
                condition=models.Q(model="") | ~models.Q(make=""),
                name="offer_for_a_model_names_its_make",
                violation_error_message="A model is named with its make; fill in the make.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} from {self.supplier or 'anywhere'}"
