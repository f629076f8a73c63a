"""What is said of transfers, and examples of it."""

from typing import Any

from rest_framework import serializers

from api.serializers import (
    CollectionInSight,
    FellowMember,
    MemberInSight,
    StrictModelSerializer,
    StrictSerializer,
    VehicleInSight,
)
from maintenance.models import Transfer
from maintenance.services.transfers import LONGEST_DAYS

_OFFER = ("registration", "make", "model", "offered_at", "expires_at")

TRANSFER: dict[str, Any] = {
    "id": "01931b5e-7fa0-7a11-9d2e-0b1c2d3e4fa0",
    "collection": "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50",
    "vehicle": "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061",
    "registration": "VO 1964",
    "make": "Tarn",
    "model": "Merle 1200",
    "elsewhere": True,
    "to_keeper": None,
    "email": "secretary@corve.example",
    "state": "offered",
    "offered_by": "01931b5e-7900-7f00-a111-223344556677",
    "offered_at": "2026-11-25T09:30:00Z",
    "expires_at": "2026-12-25T09:30:00Z",
    "officer_confirmed_at": "2026-11-25T09:30:00Z",
    "keeper_confirmed_at": None,
    "ended_at": None,
    "on": None,
    "history_length": None,
    "history_head": "",
}
OFFER = {name: TRANSFER[name] for name in _OFFER}
TAKEN = {
    "vehicle": TRANSFER["vehicle"],
    "collection": "01931b5e-7a01-7a11-9d2e-0b1c2d3e4f51",
    "keeper": None,
    "history_length": 214,
    "history_head": "9f2c" * 16,
}


class TransferSerializer(StrictModelSerializer):
    """A car on offer. Done, it tells what became of it, and with which history it went."""

    vehicle = VehicleInSight(
        help_text="Identifier of the vehicle; null once it is in another collection."
    )
    to_keeper = FellowMember(
        required=False,
        allow_null=True,
        help_text="Member of the same collection; left out, the car goes to another collection.",
    )
    days = serializers.IntegerField(
        write_only=True,
        required=False,
        min_value=1,
        max_value=LONGEST_DAYS,
        help_text="How long the offer stands [days].",
    )

    class Meta:
        model = Transfer
        fields: tuple[str, ...] = (
            *("id", "collection", "vehicle", "registration", "make", "model", "elsewhere"),
            *("to_keeper", "email", "days", "state", "offered_by", "offered_at", "expires_at"),
            *("officer_confirmed_at", "keeper_confirmed_at", "ended_at", "on"),
            *("history_length", "history_head"),
        )
        read_only_fields = tuple(
            name for name in fields if name not in ("vehicle", "to_keeper", "email", "days")
        )


class TransferIssued(TransferSerializer):
    """An offer with its code, which is shown this once; null where it goes to a keeper."""

    code = serializers.CharField(
        read_only=True, allow_null=True, help_text="Whoever has it can take the car."
    )

    class Meta(TransferSerializer.Meta):
        fields = (*TransferSerializer.Meta.fields, "code")


class Code(StrictSerializer):
    """The code of a car on offer."""

    code = serializers.CharField(max_length=200, help_text="As it was mailed or told.")


class Taking(Code):
    """Into which collection of yours a car is taken, and who keeps it there."""

    collection = CollectionInSight(help_text="Identifier of the collection that takes the car.")
    keeper = MemberInSight(
        required=False, allow_null=True, help_text="Member who keeps it; none unless said."
    )


class Offered(serializers.ModelSerializer[Transfer]):
    """All that is told of a car before it is taken."""

    class Meta:
        model = Transfer
        fields = _OFFER
        read_only_fields = fields


class Taken(StrictSerializer):
    """A car taken over; note the head, it stands for the history that came with it."""

    vehicle = serializers.UUIDField(read_only=True)
    collection = serializers.UUIDField(read_only=True)
    keeper = serializers.UUIDField(read_only=True, allow_null=True)
    history_length = serializers.IntegerField(read_only=True, help_text="How many records came.")
    history_head = serializers.CharField(read_only=True, help_text="Digest of the last of them.")
