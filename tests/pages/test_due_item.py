"""The page of a due item, to which mails lead."""

import datetime
import re
from html import unescape
from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.utils.html import escape

from maintenance.models import DueItem, Member
from maintenance.queries.today import this_instant
from maintenance.reminders.lines import page_address
from maintenance.services.recompute import recompute_vehicles
from tests.factories import (
    ComponentFactory,
    EntryFactory,
    LayUpFactory,
    PostponementFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


def fluid_renewed(person, days_ago):
    """Return the renewal of the brake fluid of the person's own car, last done so long ago."""
    member = Member.objects.get(account=person)
    car = VehicleFactory(collection=member.collection, keeper=member, inspection_regime="")
    fluid = ComponentFactory(vehicle=car, kind="brake-fluid")
    today = this_instant().date()
    renewed = today - datetime.timedelta(days_ago)
    EntryFactory(component=fluid, action="renew", event__vehicle=car, event__on=renewed)
    recompute_vehicles(vehicles=[car], on=today)
    return DueItem.objects.get(component=fluid, task="renew")


@pytest.fixture
def item(person):
    """Brake fluid renewed eighteen months ago."""
    return fluid_renewed(person, 550)


def where(item):
    return urlsplit(page_address(item)).path


def seen(browser, item):
    """Return the text of the page, without tags and with single blanks."""
    page = browser.get(where(item))
    assert page.status_code == 200
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page.text)).split())


def recomputed(item):
    recompute_vehicles(vehicles=[item.vehicle], on=this_instant().date())
    return DueItem.objects.get(component=item.component, task=item.task)


def test_the_link_of_a_mail_shows_a_keeper_how_the_day_comes_about(browser, item):
    page = browser.get(where(item), headers={"Accept": "text/html"})
    assert page.status_code == 200
    assert escape(item.sentence) in page.text and str(item.due_on) in page.text
    assert item.source in page.text


def test_it_says_first_how_things_stand(browser, item):
    text = seen(browser, item)
    assert "Status In date" in text
    assert f"Due {item.due_on}" in text and "Governed by Time" in text
    assert "It does not tell the condition of the car" in text


def test_what_is_overdue_is_called_so(browser, person):
    assert "Status Overdue" in seen(browser, fluid_renewed(person, 1500))


def test_what_was_put_off_is_told_beside_the_day(browser, item):
    until = this_instant().date() + datetime.timedelta(20)
    PostponementFactory(
        vehicle=item.vehicle,
        item_key=item.key,
        cycle=item.cycle,
        until=until,
        why="The fluid is on order.",
    )
    text = seen(browser, item)
    assert f"Put off until {until}. The fluid is on order." in text
    assert f"Due {item.due_on}" in text


def test_each_line_has_the_name_that_formulas_use(browser, item):
    page = browser.get(where(item)).text
    assert "<code>calendar_day</code>" in page
    assert "add_months(clock_from, months)" in page


def test_the_end_of_a_lay_up_that_lasts_is_expected(browser, item):
    today = this_instant().date()
    LayUpFactory(
        vehicle=item.vehicle,
        from_on=today - datetime.timedelta(100),
        to_on=None,
        expected_to=today + datetime.timedelta(30),
        storage="damp",
    )
    text = seen(browser, recomputed(item))
    assert "expected back in use" in text


def test_estimates_of_its_state_stand_below(browser, item):
    assert "Estimate of water content" in seen(browser, item)


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
