"""The page of a due item, to which mails lead."""

import datetime
from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.utils.html import escape

from maintenance.models import DueItem, Member
from maintenance.queries.today import this_instant
from maintenance.reminders.lines import page_address
from maintenance.services.recompute import recompute_vehicles
from tests.factories import ComponentFactory, EntryFactory, VehicleFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(person):
    """Brake fluid of the person's own car, renewed eighteen months ago."""
    member = Member.objects.get(account=person)
    car = VehicleFactory(collection=member.collection, keeper=member, inspection_regime="")
    fluid = ComponentFactory(vehicle=car, kind="brake-fluid")
    today = this_instant().date()
    renewed = today - datetime.timedelta(550)
    EntryFactory(component=fluid, action="renew", event__vehicle=car, event__on=renewed)
    recompute_vehicles(vehicles=[car], on=today)
    return DueItem.objects.get(component=fluid, task="renew")


def where(item):
    return urlsplit(page_address(item)).path


def test_the_link_of_a_mail_shows_a_keeper_how_the_day_comes_about(browser, item):
    page = browser.get(where(item), headers={"Accept": "text/html"})
    assert page.status_code == 200
    assert escape(item.sentence) in page.text and str(item.due_on) in page.text
    assert item.source in page.text


def test_whoever_is_not_signed_in_is_led_to_the_page_by_way_of_the_door(item):
    answer = Client().get(where(item))
    assert answer["Location"] == f"/sign-in?next={where(item)}"


def test_somebody_elses_car_is_not_found(browser, item):
    DueItem.objects.filter(pk=item.pk).update(
        vehicle=VehicleFactory(collection=item.collection), component=None
    )
    assert browser.get(where(item)).status_code == 404


def test_what_was_recorded_since_is_not_found(browser, item):
    address = where(item)
    item.delete()
    assert browser.get(address).status_code == 404
