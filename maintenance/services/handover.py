"""Hand a car over to another collection: its history as it is, and the rest of what is its own."""

import datetime

from django.db.models import F, Model

from maintenance.models import (
    CarriedOver,
    Collection,
    Component,
    DueItem,
    Entry,
    Finding,
    Handover,
    HistoryLink,
    IntervalRule,
    Measurement,
    Member,
    Paper,
    SpecificationLine,
    Vehicle,
)
from maintenance.queries.history_heads import NOTHING_YET, Head, heads_of
from maintenance.queries.marks import with_marks
from maintenance.queries.moves import linked_cars
from maintenance.services.chain import KINDS
from maintenance.services.left_behind import leave_behind
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.store_climates import take_climates_along
from maintenance.services.verify_history import verify_history


def hand_over(
    *,
    vehicle: Vehicle,
    to: Collection,
    keeper: Member | None,
    left_on: datetime.date,
    today: datetime.date,
) -> Head:
    """Give a car with all that is known of it to another collection; returns its history's head.

    To be called in the transaction that ends the transfer, under the lock of the car. `left_on`
    is the local day in the collection that gives, `today` that in the one that takes.

    Its records, chain, components, papers, specification and the rules that name it go along,
    and so do the measured climates it was stored in, as copies: otherwise its days in store would
    count for less. What is the old collection's own stays or ends there (`leave_behind`). All is
    computed anew under the rules of the collection that takes. So are cars that stay behind and
    have parts of it: what these went through on the car that leaves is no longer known here.

    Refused for a history that does not hold against its chain, and where the collection that
    takes has a car of this registration.
    """
    refuse_if_any([*_history_problems(vehicle), *_place_problems(vehicle, to)])
    stay_behind = linked_cars([vehicle])
    head = heads_of([vehicle.pk]).get(vehicle.pk, NOTHING_YET)
    take_climates_along(vehicle=vehicle, to=to, left_on=left_on)
    leave_behind(vehicle=vehicle)
    hand_over_records(vehicle=vehicle, to=to)
    described: list[type[Model]] = [Component, Paper, SpecificationLine, IntervalRule]
    for table in described:
        rows = table._default_manager.filter(vehicle=vehicle)
        rows.update(collection=to, version=F("version") + 1)
    vehicle.collection, vehicle.keeper = to, keeper
    vehicle.version += 1
    vehicle.save(update_fields=["collection", "keeper", "version"])
    DueItem.objects.filter(vehicle=vehicle).update(collection=to)
    recompute_vehicles(vehicles=[vehicle], on=today)
    if stay_behind:
        recompute_vehicles(vehicles=stay_behind, on=left_on)
    return head


def hand_over_records(*, vehicle: Vehicle, to: Collection) -> None:
    """Give all that is recorded of a car, with its chain, to another collection.

    To be called in the transaction that hands the car over, under its lock, while the car still
    belongs to the collection it leaves. The database lets nothing but the collection of a record
    change, and that only as long as the row of `Handover` stands. No digest changes.
    """
    under_way = Handover.objects.create(
        vehicle=vehicle, from_collection_id=vehicle.collection_id, to_collection=to
    )
    records: list[type[Model]] = [*KINDS, HistoryLink]
    for record in records:
        record._default_manager.filter(vehicle=vehicle).update(collection=to)
    for part, path in (
        (Entry, "event__vehicle"),
        (CarriedOver, "entry__event__vehicle"),
        (Measurement, "entry__event__vehicle"),
        (Finding, "inspection__vehicle"),
    ):
        part._default_manager.filter(**{path: vehicle}).update(collection=to)
    under_way.delete()


def _history_problems(vehicle: Vehicle) -> list[Problem]:
    [verified] = verify_history([vehicle])
    if not verified.faults:
        return []
    text = (
        f"the history of {vehicle.registration} does not hold against its chain, first: "
        f"{verified.faults[0].message}; have the operator run verify_history"
    )
    return [Problem("", text)]


def _place_problems(vehicle: Vehicle, to: Collection) -> list[Problem]:
    taken = with_marks(Vehicle.objects.filter(collection=to), [vehicle.registration]).first()
    if taken is None:
        return []
    text = (
        f"has a car {taken.registration!r} already; correct the mark of that one first, or have "
        "the mark of this one corrected by those who offer it"
    )
    return [Problem("/collection", text)]
