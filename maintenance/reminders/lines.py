"""A reminder in words: which car, which part, which day, why, and what to beware of."""

import datetime
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from maintenance.catalogue.load import catalogue
from maintenance.engine.working.sentence import TO_DO
from maintenance.models import DueItem, Reminder
from maintenance.queries.due_answers import DANGEROUS
from maintenance.reminders.addresses import public_address

_FINDING = "finding:"


@dataclass(frozen=True)
class Line:
    """One reminder of a message, with the due item as stored and its words."""

    reminder: Reminder
    item: DueItem
    car: str
    what: str
    when: str
    cautions: tuple[str, ...]
    link: str

    @property
    def sentence(self) -> str:
        """Return the governing criterion in one sentence."""
        return self.item.sentence

    @property
    def overdue(self) -> bool:
        """Say whether the reminder was written after the due day."""
        return self.reminder.lead_days < 0


def line_for(reminder: Reminder, item: DueItem, *, on: datetime.date) -> Line:
    """Return a reminder in words as they are true on a day; reads nothing more."""
    car = item.vehicle
    return Line(
        reminder=reminder,
        item=item,
        car=_in_one_line(f"{car.registration} {car.make} {car.model}"),
        what=what_of(item),
        when=_when(item, reminder.due_on, on),
        cautions=_cautions(item),
        link=page_address(item),
    )


def what_of(item: DueItem) -> str:
    """Return the part and what is to be done to it: "front brake pads inspection"."""
    if item.paper_id is not None:
        return _in_one_line(item.kind.replace("-", " "))
    known = catalogue().kinds.get(item.kind)
    part = f"{item.position} {known.name if known else item.kind.replace('-', ' ')}".strip()
    if item.component_id is None:
        return part
    task = "repair" if item.key.startswith(_FINDING) else TO_DO.get(item.task, item.task)
    return _in_one_line(f"{part[:1].lower()}{part[1:]} {task}")


def _cautions(item: DueItem) -> tuple[str, ...]:
    """Return the standing cautions of an item one by one, so that a digest says each once."""
    if not item.caution:
        return ()
    known = catalogue().kinds.get(item.kind)
    texts = tuple(each.text for each in catalogue().cautions_for(item.kind)) if known else ()
    for parts in (texts, (DANGEROUS, *texts)):
        if " ".join(parts) == item.caution:
            return parts
    return (item.caution,)


def page_address(item: DueItem) -> str:
    """Return the public address of the page that shows people the item's working."""
    return public_address(f"/due-items/{item.pk}")


def working_address(item: DueItem) -> str:
    """Return the public address at which programs read the item's working."""
    return public_address(f"/api/v1/due-items/{item.pk}/working")


def _when(item: DueItem, day: datetime.date | None, on: datetime.date) -> str:
    if day is None:
        return _("due now, no record")
    left = (day - on).days
    if item.governed_by == DueItem.GovernedBy.EXPIRY:
        text = _("runs out %(day)s, %(away)s") if left >= 0 else _("ran out %(day)s, %(away)s")
    elif left < 0:
        text = _("was due %(day)s, %(away)s")
    elif item.status == DueItem.Status.BEFORE_USE:
        text = _("due before use on %(day)s, %(away)s")
    else:
        text = _("due %(day)s, %(away)s")
    return text % {"day": date_format(day, "j F Y"), "away": _away(left)}


def _away(left: int) -> str:
    if left < 0:
        return ngettext("%(days)d day ago", "%(days)d days ago", -left) % {"days": -left}
    if left == 0:
        return _("today")
    return ngettext("in %(days)d day", "in %(days)d days", left) % {"days": left}


def _in_one_line(text: str) -> str:
    # A line break in a registration mark would start a header of its own in an e-mail.
    return " ".join(text.split())
