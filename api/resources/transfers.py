"""Transfers: cars on offer to another keeper, or with their whole history to another collection."""

from typing import Any

from django.db.models import Q, QuerySet
from django.urls import reverse
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import OfVehicle, filters
from api.resources.base import Listed
from api.resources.issued import ShownOnce
from api.resources.transfer_shapes import (
    OFFER,
    TAKEN,
    TRANSFER,
    Code,
    Offered,
    Taken,
    Taking,
    TransferIssued,
    TransferSerializer,
)
from maintenance.models import Transfer, Vehicle
from maintenance.queries.today import this_instant, today_in
from maintenance.services import transfers

_BY_CODE = ("malformed-request", "unsupported-media-type", "refused")


class TransferFilters(OfVehicle):
    state = filters.ChoiceFilter(choices=Transfer.State.choices, label="State.")


class Transfers(ShownOnce, Listed):
    """Cars on offer by your collection, or by you, or to you.

    Nothing changes before both sides have said yes. What goes to another collection is taken
    there by its code; until then whoever has it sees mark, make and model.
    """

    noun, nouns = "transfer", "transfers"
    verbs = Listed.verbs | {
        "confirmation": "confirm",
        "refusal": "refuse",
        "withdrawal": "withdraw",
        "look": "look",
        "acceptance": "accept",
        "rejection": "reject",
    }
    serializer_class = TransferSerializer
    issued_class = TransferIssued
    another = (
        "If it never arrived, withdraw the offer (POST to `withdrawal` there) and make it anew."
    )
    filterset_class = TransferFilters
    said = {
        "create": ("Offer a car to a keeper or to another collection", "offer_car"),
        "confirmation": ("Confirm a change of keeper", "confirm_transfer"),
        "refusal": ("Refuse a car offered to you", "refuse_transfer"),
        "withdrawal": ("Withdraw an offer", "withdraw_transfer"),
        "look": ("Look at what a code offers", "look_at_transfer"),
        "acceptance": ("Take a car over by its code", "accept_transfer"),
        "rejection": ("Refuse a car by its code", "reject_transfer"),
    }
    problems = {
        "confirmation": ("refused",),
        "refusal": ("refused",),
        "withdrawal": ("refused",),
        "look": _BY_CODE,
        "acceptance": _BY_CODE,
        "rejection": _BY_CODE,
    }
    example = TRANSFER
    example_secret = {"code": "idlecar_an-example-that-opens-nothing"}

    def get_queryset(self) -> QuerySet[Transfer]:
        # What one offered oneself is one's own too, as long as one is a member.
        of_mine = Q(offered_by=self.account.pk, collection__in=self.sight.collections)
        return self.in_sight(Transfer.objects.all()) | Transfer.objects.filter(of_mine)

    def create(self, request: Request) -> Response:
        given = self.given()
        vehicle, keeper = given.pop("vehicle"), given.pop("to_keeper", None)
        self._require_to_offer(vehicle, elsewhere=keeper is None)
        offer = {"vehicle": vehicle, "by": self.account, "at": this_instant()}
        if keeper is None:
            row, code = transfers.offer_elsewhere(**offer, **given)
            return self.issued(row.pk, code=code)
        if given.pop("email", ""):
            raise serializers.ValidationError({"email": ["goes with an offer elsewhere alone"]})
        row = transfers.offer_to_keeper(**offer, **given, to=keeper)
        answer = self.created(row.pk)
        answer.data = {**answer.data, "code": None}
        return answer

    @action(detail=True, methods=["post"])
    def confirmation(self, request: Request, pk: Any) -> Response:
        row = self.instance(pk)
        today = today_in(row.collection)
        transfers.confirm(transfer=row, by=self.account, at=this_instant(), today=today)
        return self.created(pk)

    @action(detail=True, methods=["post"])
    def refusal(self, request: Request, pk: Any) -> Response:
        row = self.instance(pk)
        if row.to_keeper is None or not self.may(row.to_keeper):
            raise PermissionDenied("Only whom the car is offered to refuses it; withdraw it.")
        transfers.end_offer(transfer=row, state=Transfer.State.REFUSED, at=this_instant())
        return self.created(pk)

    @action(detail=True, methods=["post"])
    def withdrawal(self, request: Request, pk: Any) -> Response:
        row = self.instance(pk)
        if row.offered_by_id != self.account.pk and not self.may(row.collection):
            raise PermissionDenied("Only who offered the car, or an officer, withdraws the offer.")
        transfers.end_offer(transfer=row, state=Transfer.State.WITHDRAWN, at=this_instant())
        return self.created(pk)

    @action(detail=False, methods=["post"])
    def look(self, request: Request) -> Response:
        offer = transfers.offered_by_code(code=self.given(Code)["code"], at=this_instant())
        return Response(Offered(offer).data, status=status.HTTP_201_CREATED)

    @action(detail=False, methods=["post"])
    def rejection(self, request: Request) -> Response:
        at = this_instant()
        offer = transfers.offered_by_code(code=self.given(Code)["code"], at=at)
        ended = transfers.end_offer(transfer=offer, state=Transfer.State.REFUSED, at=at)
        return Response(Offered(ended).data, status=status.HTTP_201_CREATED)

    @action(detail=False, methods=["post"])
    def acceptance(self, request: Request) -> Response:
        given = self.given(Taking)
        if not self.may(given["collection"]):
            raise PermissionDenied("Only an officer of the collection takes a car into it.")
        transfer, vehicle = transfers.accept_elsewhere(
            code=given["code"],
            to=given["collection"],
            keeper=given.get("keeper"),
            at=this_instant(),
        )
        path = reverse("vehicles-detail", kwargs={"pk": vehicle.pk})
        taken = {
            "vehicle": str(vehicle.pk),
            "collection": str(vehicle.collection_id),
            "keeper": vehicle.keeper_id and str(vehicle.keeper_id),
            "history_length": transfer.history_length,
            "history_head": transfer.history_head,
        }
        location = {"Location": request.build_absolute_uri(path)}
        return Response(taken, status=status.HTTP_201_CREATED, headers=location)

    def _require_to_offer(self, vehicle: Vehicle, *, elsewhere: bool) -> None:
        verb = "add elsewhere" if elsewhere else self.verb
        if not self.sight.may(verb, "transfers", vehicle):
            raise PermissionDenied(
                "A keeper offers their own car to another keeper; elsewhere an officer does."
            )

    def kept_as(self, response: Response) -> Response:
        # Without a code there is nothing to hide of a call sent twice.
        hides = isinstance(response.data, dict) and response.data.get("code")
        return super().kept_as(response) if hides else response

    def takes(self, action: str) -> Any:
        by_code = {"look": Code, "rejection": Code, "acceptance": Taking}
        return by_code.get(action) or super().takes(action)

    def answers(self, action: str) -> Any:
        by_code = {"look": Offered, "rejection": Offered, "acceptance": Taken}
        return by_code.get(action) or super().answers(action)

    def example_answer(self, action: str) -> Any:
        by_code = {"look": OFFER, "rejection": OFFER, "acceptance": TAKEN}
        return by_code.get(action) or super().example_answer(action)

    def example_request(self, action: str) -> Any:
        if action == "create":
            return {"vehicle": TRANSFER["vehicle"], "email": TRANSFER["email"], "days": 30}
        if action in ("look", "rejection"):
            return dict(self.example_secret)
        if action == "acceptance":
            return {**self.example_secret, "collection": TAKEN["collection"]}
        return None
