"""What a calendar says of a due item."""

import datetime
from dataclasses import dataclass

from maintenance.engine.columns import CRITICALITIES
from maintenance.models import DueItem, Vehicle
from maintenance.reminders.lines import page_address, what_of

BEFORE_USE = "The car is laid up on that day: to be done before it is used again."
NOTICE = (
    "Worked out from what is on record. It does not tell the condition of the car; local law and "
    "the maker's handbook come first."
)


@dataclass(frozen=True)
class Words:
    """What is shown of a due item; two items of the same words look the same in a calendar."""

    summary: str
    description: str
    day: datetime.date | None
    criticality: str
    address: str
    alarm: bool


def words_of(item: DueItem, vehicle: Vehicle) -> Words:
    """Return what a calendar says of a due item. No query, no clock."""
    laid_up = _due_while_laid_up(item)
    criticality = CRITICALITIES[item.criticality_rank]
    paragraphs = [
        item.sentence,
        BEFORE_USE if laid_up else "",
        _band(item),
        f"Caution: {item.caution}" if item.caution else "",
        f"Criticality: {criticality}. Source: {item.source or 'none given'}.",
        NOTICE,
    ]
    return Words(
        summary=f"{vehicle.registration}: {what_of(item)}",
        description="\n\n".join(filter(None, paragraphs)),
        # What no record starts is due now: its day is the one on which that was found.
        day=item.due_on or item.no_record_since,
        criticality=criticality,
        address=_address(item),
        alarm=item.due_on is not None and not laid_up,
    )


def _band(item: DueItem) -> str:
    if item.earliest_on == item.due_on == item.latest_on:
        return ""
    between = [
        f"{name} {day}"
        for name, day in (("earliest", item.earliest_on), ("latest", item.latest_on))
        if day is not None and day != item.due_on
    ]
    return f"The day is a forecast: {', '.join(between)}." if between else ""


def _due_while_laid_up(item: DueItem) -> bool:
    """Say whether the item falls due while the car stands, where it can do no harm."""
    if item.storage_care or item.due_on is None or item.laid_up_from is None:
        return False
    end = item.laid_up_until or item.expected_to or datetime.date.max
    return item.laid_up_from <= item.due_on <= end


def _address(item: DueItem) -> str:
    """Return where the working is shown, if the service knows its own address."""
    address = page_address(item)
    return address if address.startswith("http") else ""
