"""What parts cost at suppliers, and how long they take to come."""

import datetime
from typing import Any

from django.db.models import QuerySet

from api.filters import OfCollection, filters
from api.resources.described import Changing, Kept
from api.serializers import CollectionInSight, StrictModelSerializer
from api.shapes import Row
from maintenance.models import PartOffer
from maintenance.services import part_offers
from maintenance.services.plans.terms import OfferDraft


class PartOfferSerializer(StrictModelSerializer):
    """An offer; offers of one name are alternatives, different names are bought together."""

    collection = CollectionInSight(help_text="Identifier of the collection.")

    class Meta:
        model = PartOffer
        fields = ("id", "collection", "version", *part_offers.COLUMNS)
        read_only_fields = ("id", "version")


class PartOfferChange(Changing, PartOfferSerializer):
    """What of an offer changes; it stays in its collection."""

    stays = ("collection",)


class PartOfferFilters(OfCollection):
    kind = filters.CharFilter(label="Slug of a component kind.")
    supplier = filters.CharFilter(label="Name of a supplier.")


class PartOffers(Kept):
    """Offers of parts that plans of the collection's cars reckon with."""

    noun, nouns = "part offer", "part offers"
    owner = "collection"
    serializer_class = PartOfferSerializer
    change_class = PartOfferChange
    filterset_class = PartOfferFilters
    example = {
        "id": "01931b5e-7f50-7a11-9d2e-0b1c2d3e4f91",
        "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
        "version": 1,
        "kind": "brake-hose",
        "name": "brake hose",
        "price": 31,
        "currency": "EUR",
        "position": "",
        "make": "Peregrand",
        "model": "",
        "part_number": "PS-3107",
        "supplier": "Peregrand Spares Circle",
        "quantity": 1,
        "lead_days": 28,
        "sold_separately": True,
    }
    example_change = {"price": 33.5}

    def get_queryset(self) -> QuerySet[PartOffer]:
        return self.in_sight(PartOffer.objects.all())

    def add(self, *, given: Row, today: datetime.date) -> PartOffer:
        owner = given.pop("collection")
        return part_offers.add_offer(collection=owner, draft=OfferDraft(**given))

    def change(self, *, row: PartOffer, given: Row, today: datetime.date) -> Any:
        return part_offers.change_offer(offer=row, version=row.version, changes=given)

    def remove(self, *, row: PartOffer, today: datetime.date) -> None:
        part_offers.remove_offer(offer=row, version=row.version)
