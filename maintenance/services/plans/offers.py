"""What parts cost a car: the collection's offers, else what was paid the last time."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from maintenance.models import Component, Entry, PartOffer, Vehicle
from maintenance.planning.jobs import Part
from maintenance.services.plans.money import minor

PAID_BEFORE = "as paid on {on}"


@dataclass(frozen=True)
class Priced:
    """Parts by component kind and position, in one currency, and what was passed over."""

    parts: dict[tuple[str, str], tuple[Part, ...]]
    numbers: dict[tuple[str, str, str], str]
    notes: tuple[str, ...] = ()


def usual_currency(vehicle: Vehicle) -> str:
    """Return the only currency of the collection's offers, or without any, of what the car cost.

    Empty where there are several, or none. Up to two queries.
    """
    rows = PartOffer.objects.filter(collection=vehicle.collection_id)
    offered = set(rows.order_by("currency").values_list("currency", flat=True).distinct()[:2])
    known = offered or {entry.event.currency for entry in _renewals_paid(vehicle)}
    return known.pop() if len(known) == 1 else ""


def offers_for(
    vehicle: Vehicle,
    components: Sequence[Component],
    *,
    currency: str,
    wanted: Collection[tuple[str, str]],
) -> Priced:
    """Return what can be bought for the components of a car.

    The narrowest offers count: for the model before the make before all, for the position before
    all. Of several offers of one part the cheapest is taken that comes no later than what must be
    waited for anyway: the slowest of the parts `wanted`, each from its quickest supplier. Two
    queries.
    """
    rows = list(PartOffer.objects.filter(collection=vehicle.collection_id).order_by("id"))
    fitting = {
        (c.kind, c.position): [row for row in rows if _fits(row, vehicle, c)] for c in components
    }
    renewals = list(_renewals_paid(vehicle))
    paid = _paid_before(renewals, currency)
    parts: dict[tuple[str, str], tuple[Part, ...]] = {}
    numbers: dict[tuple[str, str, str], str] = {}
    offered = {
        place: _alternatives([row for row in found if row.currency == currency])
        for place, found in fitting.items()
    }
    wait = _wait(rows for place, names in offered.items() if place in wanted for rows in names)
    for place, names in offered.items():
        chosen = [_best(rows, wait) for rows in names]
        if chosen:
            parts[place] = tuple(_part(row) for row in chosen)
            numbers |= {(*place, row.name): row.part_number for row in chosen}
        elif place in paid:
            parts[place] = (paid[place],)
    unpriced = {place for place in fitting if place not in parts}
    notes = (*_notes(fitting, currency), *_paid_notes(renewals, unpriced, currency))
    return Priced(parts, numbers, notes)


def _fits(row: PartOffer, vehicle: Vehicle, component: Component) -> bool:
    wants = (
        (row.kind, component.kind),
        (row.position, component.position),
        (row.make, vehicle.make),
        (row.model, vehicle.model),
    )
    return all(wanted in ("", found) for wanted, found in wants)


def _breadth(row: PartOffer) -> tuple[bool, bool, bool]:
    return (not row.model, not row.make, not row.position)


def _alternatives(rows: Sequence[PartOffer]) -> list[list[PartOffer]]:
    """The narrowest offers for one place, those of one name together."""
    narrowest = min(map(_breadth, rows), default=())
    by_name: dict[str, list[PartOffer]] = {}
    for row in rows:
        if _breadth(row) == narrowest:
            by_name.setdefault(row.name, []).append(row)
    return list(by_name.values())


def _wait(parts: Iterable[Sequence[PartOffer]]) -> int:
    """Days that no choice of suppliers can save [days]."""
    return max((min(row.lead_days for row in rows) for rows in parts), default=0)


def _best(rows: Iterable[PartOffer], wait: int) -> PartOffer:
    def worth(row: PartOffer) -> tuple[object, ...]:
        late = max(0, row.lead_days - wait)
        return (not row.sold_separately, late, row.price, row.lead_days, row.supplier)

    return min(rows, key=worth)


def _part(row: PartOffer) -> Part:
    return Part(
        name=row.name,
        price=minor(row.price),
        supplier=row.supplier,
        lead_days=row.lead_days,
        quantity=row.quantity,
        available=row.sold_separately,
    )


def _renewals_paid(vehicle: Vehicle) -> Iterable[Entry]:
    """Renewals with a price, in the order of their days."""
    entries = Entry.objects.filter(
        event__vehicle=vehicle,
        event__current=True,
        event__withdrawn=False,
        action=Entry.Action.RENEW,
        price__isnull=False,
    ).exclude(event__currency="")
    in_order = entries.order_by("event__on", "event_id", "sequence")
    return in_order.select_related("component", "event")


def _paid_before(renewals: Iterable[Entry], currency: str) -> dict[tuple[str, str], Part]:
    """What the last renewal of each component cost, where that was in the plan's currency."""
    found: dict[tuple[str, str], Part] = {}
    for entry in renewals:
        if entry.event.currency != currency:
            continue
        place = (entry.component.kind, entry.component.position)
        name = f"{entry.component} ({PAID_BEFORE.format(on=entry.event.on_stated)})"
        found[place] = Part(name=name, price=minor(entry.price), supplier=entry.supplier)
    return found


def _notes(fitting: dict[tuple[str, str], list[PartOffer]], currency: str) -> Iterable[str]:
    others = {r.currency for rows in fitting.values() for r in rows if r.currency != currency}
    if others and currency:
        yield f"Offers in {', '.join(sorted(others))} are left out of a plan in {currency}."
    elif others:
        yield f"Offers are in {', '.join(sorted(others))}: name the plan's currency to use them."


def _paid_notes(
    renewals: Iterable[Entry], unpriced: set[tuple[str, str]], currency: str
) -> Iterable[str]:
    """Say of what has no price in the plan that it has one on record in another currency."""
    others = {
        entry.event.currency
        for entry in renewals
        if (entry.component.kind, entry.component.position) in unpriced
        and entry.event.currency != currency
    }
    if others and currency:
        yield f"Prices paid in {', '.join(sorted(others))} are left out of a plan in {currency}."
    elif others:
        yield (
            f"Prices paid in {', '.join(sorted(others))} are on record: name the plan's currency "
            "to use them."
        )
