"""What parts cost a car: offers, and what was paid before."""

import datetime
from decimal import Decimal

import pytest

from maintenance.models import Component
from maintenance.services.plans.offers import offers_for, usual_currency
from tests.factories import EntryFactory, ServiceEventFactory, VehicleFactory
from tests.services.plans.cars import fitted, offer

pytestmark = pytest.mark.django_db

FLUID, HOSE = ("brake-fluid", ""), ("brake-hose", "rear")


@pytest.fixture
def car():
    car = VehicleFactory()
    fitted(car, "brake-fluid")
    fitted(car, "brake-hose", "rear")
    return car


def priced(car, currency="EUR", wanted=()):
    components = Component.objects.filter(vehicle=car)
    return offers_for(car, components, currency=currency, wanted=wanted)


def bought(car, place, **said):
    return [(part.supplier, part.price) for part in priced(car, **said).parts.get(place, ())]


def test_the_cheapest_of_two_suppliers_is_taken(car):
    offer(car, "brake-fluid", "14.50", supplier="Ander")
    offer(car, "brake-fluid", "12.00", supplier="Overwater")
    assert bought(car, FLUID) == [("Overwater", 1200)]


def test_a_cheap_part_that_would_keep_the_car_waiting_is_passed_over(car):
    offer(car, "brake-hose", "24.00", supplier="slow", lead_days=60)
    offer(car, "brake-hose", "31.00", supplier="quick", lead_days=7)
    assert bought(car, HOSE, wanted={HOSE}) == [("quick", 3100)]


def test_a_slow_part_is_good_enough_where_a_slower_one_must_be_waited_for(car):
    offer(car, "brake-fluid", "40.00", lead_days=90)
    offer(car, "brake-hose", "24.00", supplier="slow", lead_days=60)
    offer(car, "brake-hose", "31.00", supplier="quick", lead_days=7)
    assert bought(car, HOSE, wanted={HOSE, FLUID}) == [("slow", 2400)]


def test_an_offer_for_the_model_goes_before_one_for_all(car):
    offer(car, "brake-hose", "10.00", supplier="for all")
    offer(car, "brake-hose", "31.00", supplier="own", make=car.make, model=car.model)
    assert bought(car, HOSE) == [("own", 3100)]


def test_an_offer_for_another_make_is_none(car):
    offer(car, "brake-hose", "10.00", make="Peregrand")
    assert bought(car, HOSE) == []


def test_parts_of_different_names_are_bought_together(car):
    offer(car, "brake-hose", "31.00", name="hose")
    offer(car, "brake-hose", "2.00", name="copper washers")
    assert sorted(price for _, price in bought(car, HOSE)) == [200, 3100]


def test_without_an_offer_the_price_paid_last_counts(car):
    hose = Component.objects.get(vehicle=car, kind="brake-hose")
    event = ServiceEventFactory(vehicle=car, on=datetime.date(2020, 4, 1), currency="EUR")
    EntryFactory(event=event, component=hose, price=Decimal("27.30"), supplier="Ander")
    [part] = priced(car).parts[HOSE]
    assert (part.price, part.supplier) == (2730, "Ander")
    assert part.name == "brake-hose rear (as paid on 2020-04-01)"


def test_an_offer_in_another_currency_is_left_out_and_told(car):
    offer(car, "brake-hose", "31.00", currency="GBP")
    found = priced(car)
    assert found.parts == {}
    assert found.notes == ("Offers in GBP are left out of a plan in EUR.",)


def test_a_plans_currency_is_that_of_the_offers_where_they_have_one(car):
    offer(car, "brake-hose", "31.00")
    assert usual_currency(car) == "EUR"
    offer(car, "brake-fluid", "12.00", currency="GBP")
    assert usual_currency(car) == ""


def test_another_clubs_offers_are_not_seen(car):
    offer(VehicleFactory(), "brake-hose", "31.00")
    assert bought(car, HOSE) == []


def test_without_offers_the_only_currency_in_which_parts_were_paid_is_taken(car):
    paid = ServiceEventFactory(vehicle=car, on=datetime.date(2024, 1, 1), currency="GBP")
    hose = Component.objects.get(vehicle=car, kind="brake-hose")
    EntryFactory(event=paid, component=hose, action="renew", price=Decimal(31))
    assert usual_currency(car) == "GBP"
    assert priced(car, currency="EUR").notes == (
        "Prices paid in GBP are left out of a plan in EUR.",
    )
    other = ServiceEventFactory(vehicle=car, on=datetime.date(2024, 2, 1), currency="EUR")
    fluid = Component.objects.get(vehicle=car, kind="brake-fluid")
    EntryFactory(event=other, component=fluid, action="renew", price=Decimal(12))
    assert usual_currency(car) == ""
    assert priced(car, currency="").notes == (
        "Prices paid in EUR, GBP are on record: name the plan's currency to use them.",
    )
