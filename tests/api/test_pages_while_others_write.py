"""Whoever reads a list page by page misses nothing that was there all the time, whatever comes
and goes meanwhile.
"""

import pytest

from api.urls import NOUNS, OF_COLLECTIONS
from maintenance.models.base import Evidence
from tests import factories
from tests.api.test_access import furnished
from tests.api.test_paging import walk
from tests.factories import CollectionFactory, MemberFactory, VehicleFactory
from tests.factories_of_members import PartOfferFactory

pytestmark = pytest.mark.django_db

LISTS = sorted((NOUNS | OF_COLLECTIONS).keys() - {"component-kinds"})
#: Nouns of which a row can go without taking others along.
REMOVABLE = {"papers", "specification-lines", "interval-rules", "due-items", "plan-parts"}


class Club:
    """Makes a row of a noun whenever it is asked, each on a car of its own, and takes it away."""

    def __init__(self, noun, secretary, club):
        self.noun, self.secretary, self.club = noun, secretary, club

    def row(self):
        if self.noun == "part-offers":
            return PartOfferFactory(collection=self.club)
        if self.noun == "collections":
            other = CollectionFactory()
            MemberFactory(collection=other, account=self.secretary.account)
            return other
        if self.noun == "members":
            return MemberFactory(collection=self.club)
        return furnished(VehicleFactory(collection=self.club))[self.noun]

    def take_away(self, row):
        """Take a row off its list, if that can be done to this noun; say whether it was."""
        if self.noun == "findings":
            type(row.inspection).objects.filter(pk=row.inspection_id).update(current=False)
        elif isinstance(row, Evidence) and self.noun != "attachments":
            type(row).objects.filter(pk=row.pk).update(current=False)
        elif self.noun in REMOVABLE or self.noun == "part-offers":
            row.delete()
        else:
            return False
        return True


@pytest.mark.parametrize("noun", LISTS)
def test_what_stands_throughout_is_shown_once(noun, secretary, club):
    rows = Club(noun, secretary, club)
    there = [rows.row() for _ in range(6)]
    standing, leaving = {str(row.pk) for row in there[::2]}, there[1::2]

    added = []

    def meanwhile():
        if len(added) < 3:  # or a list that grows faster than it is read would have no end
            added.append(rows.row())
        if leaving and not rows.take_away(row := leaving.pop()):
            standing.add(str(row.pk))

    pages = walk(secretary, f"{noun}?limit=2", meanwhile)
    seen = [item["id"] for page in pages for item in page]
    assert standing <= set(seen) and len(seen) == len(set(seen))
    assert len(pages) > 2


@pytest.mark.parametrize("noun", ["odometer-readings", "lay-ups", "service-events"])
def test_a_cars_records_in_order_of_days_are_shown_once(noun, secretary, club):
    car = VehicleFactory(collection=club)
    make = {
        "odometer-readings": lambda day: factories.OdometerReadingFactory(vehicle=car, on=day),
        "lay-ups": lambda day: factories.LayUpFactory(
            vehicle=car, from_on=day, to_on=day[:-1] + "9"
        ),
        "service-events": lambda day: factories.ServiceEventFactory(
            vehicle=car, on=day, on_stated=day
        ),
    }[noun]
    standing = [str(make(f"2026-0{month}-01").pk) for month in (3, 1, 4, 2, 5)]
    days = iter(f"2026-0{month}-11" for month in (1, 5, 3))
    pages = walk(
        secretary,
        f"{noun}?vehicle={car.pk}&limit=2",
        lambda: [make(day) for day in [next(days, None)] if day],
    )
    seen = [item["id"] for page in pages for item in page]
    assert set(standing) <= set(seen) and len(seen) == len(set(seen))
