"""Which tables clients mirror, whose car and collection a row belongs to, and what else shows it.

Expressions are SQL in which `n` stands for the row as it is now and `o` for what it was; `DIFFERS`
compares, nulls included. They hold on both databases.
"""

from dataclasses import dataclass, field
from typing import Final

CREATED, CHANGED, REMOVED = "created", "changed", "removed"


@dataclass(frozen=True, kw_only=True)
class Also:
    """A line about another row, or for one account alone, that a write to a table brings with it.

    `rows` are the tables to look in, beside the row itself, and `where` says for which of them.
    """

    on: tuple[str, ...]
    noun: str
    change: str
    record: str
    where: str
    rows: str = ""
    vehicle: str = "n.vehicle_id"
    collection: str = "n.collection_id"
    account: str = "NULL"


@dataclass(frozen=True, kw_only=True)
class Noun:
    """A table whose rows have an address of their own."""

    name: str
    model: str
    vehicle: str = "n.vehicle_id"
    collection: str = "n.collection_id"
    also: tuple[Also, ...] = field(default=())


def _shows(noun: str, table: str, where: str) -> Also:
    """Return that rows of a table repeat a word of the car that was changed."""
    return Also(
        on=("update",),
        noun=noun,
        change=CHANGED,
        record="t.id",
        rows=f"{table} t",
        where=f"t.vehicle_id = n.id AND ({where})",
        vehicle="n.id",
    )


_UNIT = "n.odometer_unit DIFFERS o.odometer_unit"
_NAME = f"n.registration DIFFERS o.registration OR {_UNIT}"
_HANDED_OVER = "n.collection_id DIFFERS o.collection_id"
#: Whoever sees all cars of a collection sees a car with any keeper.
_KEEPER = "m.role = 'keeper' AND m.id = "
_GIVEN = f"(n.keeper_id DIFFERS o.keeper_id OR {_HANDED_OVER})"


def _of_keeper(on: str, change: str, row: str, where: str) -> Also:
    """Return what the keeper alone is told, from whose sight a car goes or into which it comes."""
    return Also(
        on=(on,),
        noun="vehicles",
        change=change,
        record=f"{row}.id",
        rows="maintenance_member m",
        where=where,
        vehicle=f"{row}.id",
        collection=f"{row}.collection_id",
        account="m.account_id",
    )


#: All that is removed stands before all that is created: whoever loses a car as its keeper may find
#: it again as an officer of the collection that takes it, and forgets what was listed before that.
_CAR = (
    Also(
        on=("update",),
        noun="vehicles",
        change=REMOVED,
        record="o.id",
        where=_HANDED_OVER,
        vehicle="o.id",
        collection="o.collection_id",
    ),
    _of_keeper("update", REMOVED, "o", f"{_KEEPER} o.keeper_id AND {_GIVEN}"),
    Also(
        on=("update",),
        noun="vehicles",
        change=CREATED,
        record="n.id",
        where=_HANDED_OVER,
        vehicle="n.id",
    ),
    _of_keeper("update", CREATED, "n", f"{_KEEPER} n.keeper_id AND {_GIVEN}"),
    _of_keeper("delete", REMOVED, "n", f"{_KEEPER} n.keeper_id"),
    _shows("due-items", "maintenance_dueitem", _NAME),
    _shows("odometer-readings", "maintenance_odometerreading", _UNIT),
    _shows("odometer-changes", "maintenance_odometerchange", _UNIT),
    _shows("service-events", "maintenance_serviceevent", _UNIT),
    _shows("inspections", "maintenance_inspection", _UNIT),
)

_MOVED = "n.position DIFFERS o.position OR n.kind DIFFERS o.kind"
_COMPONENT = tuple(
    Also(on=("update",), noun=noun, change=CHANGED, record=record, rows=rows, where=where)
    for noun, record, rows, where in (
        (
            "service-events",
            "t.event_id",
            "maintenance_entry t",
            f"t.component_id = n.id AND ({_MOVED})",
        ),
        (
            "service-events",
            "t.event_id",
            "maintenance_entry t, maintenance_carriedover c",
            f"c.component_id = n.id AND t.id = c.entry_id AND ({_MOVED})",
        ),
        (
            "inspections",
            "t.inspection_id",
            "maintenance_finding t",
            f"t.component_id = n.id AND ({_MOVED})",
        ),
        ("findings", "t.id", "maintenance_finding t", f"t.component_id = n.id AND ({_MOVED})"),
    )
)


def _membership(on: str, change: str, row: str, where: str = "1 = 1") -> Also:
    """Return what the member alone is told, whose sight of a collection begins, ends or differs."""
    return Also(
        on=(on,),
        noun="collections",
        change=change,
        record=f"{row}.collection_id",
        where=where,
        vehicle="NULL",
        collection=f"{row}.collection_id",
        account=f"{row}.account_id",
    )


_OTHER_SIGHT = "n.role DIFFERS o.role OR n.account_id DIFFERS o.account_id"
_MEMBER = (
    _membership("insert", CREATED, "n"),
    _membership("update", REMOVED, "o", _OTHER_SIGHT),
    _membership("update", CREATED, "n", _OTHER_SIGHT),
    _membership("delete", REMOVED, "n"),
)

_RULE = Also(
    on=("update",),
    noun="interval-rules",
    change=REMOVED,
    record="o.id",
    where="n.vehicle_id DIFFERS o.vehicle_id",
    vehicle="o.vehicle_id",
)
#: Only findings of inspections in force are listed.
_INSPECTION = Also(
    on=("update",),
    noun="findings",
    change=REMOVED,
    record="t.id",
    rows="maintenance_finding t",
    where="t.inspection_id = n.id AND n.current DIFFERS o.current",
)
_DEPARTURE = Also(
    on=("insert", "update"),
    noun="vehicles",
    change=CHANGED,
    record="n.vehicle_id",
    where="1 = 1",
)
_POSTPONEMENT = Also(
    on=("insert", "update"),
    noun="due-items",
    change=CHANGED,
    record="t.id",
    rows="maintenance_dueitem t",
    where="t.vehicle_id = n.vehicle_id AND t.key = n.item_key",
)
_PLAN = Also(
    on=("update",),
    noun="plan-parts",
    change=CHANGED,
    record="t.id",
    rows="maintenance_planpart t",
    where="t.plan_id = n.id AND n.currency DIFFERS o.currency",
)
_OF_PLAN = "(SELECT p.vehicle_id FROM maintenance_recommissioningplan p WHERE p.id = n.plan_id)"
_OF_INSPECTION = "(SELECT i.vehicle_id FROM maintenance_inspection i WHERE i.id = n.inspection_id)"

NOUNS: Final = (
    Noun(name="collections", model="Collection", vehicle="NULL", collection="n.id"),
    Noun(name="members", model="Member", vehicle="NULL", also=_MEMBER),
    Noun(name="vehicles", model="Vehicle", vehicle="n.id", also=_CAR),
    Noun(name="specification-lines", model="SpecificationLine"),
    Noun(name="papers", model="Paper"),
    Noun(name="components", model="Component", also=_COMPONENT),
    Noun(name="interval-rules", model="IntervalRule", also=(_RULE,)),
    Noun(name="lay-ups", model="LayUp"),
    Noun(name="odometer-readings", model="OdometerReading"),
    Noun(name="odometer-changes", model="OdometerChange"),
    Noun(name="service-events", model="ServiceEvent"),
    Noun(name="inspections", model="Inspection", also=(_INSPECTION,)),
    Noun(name="findings", model="Finding", vehicle=_OF_INSPECTION),
    Noun(name="attachments", model="Attachment"),
    Noun(name="departures", model="Departure", also=(_DEPARTURE,)),
    Noun(name="due-items", model="DueItem"),
    Noun(name="postponements", model="Postponement", also=(_POSTPONEMENT,)),
    Noun(name="recommissioning-plans", model="RecommissioningPlan", also=(_PLAN,)),
    Noun(name="plan-jobs", model="PlanJob", vehicle=_OF_PLAN),
    Noun(name="plan-parts", model="PlanPart", vehicle=_OF_PLAN),
    Noun(name="part-offers", model="PartOffer", vehicle="NULL"),
)
"""Every noun of the API that belongs to a collection; what is one member's alone is left out."""
