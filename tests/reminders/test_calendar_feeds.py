"""Secret addresses of calendars: who may have one, what it shows, how it is fetched."""

import datetime

import pytest
from django.test import Client

from maintenance.models import CalendarFeed, Component
from maintenance.services.calendar_feeds import change_feed, renew_address, revoke_feed
from maintenance.services.refusals import Refused
from maintenance.services.vehicles import change_vehicle
from tests.reminders.calendars import Clock, Club, entries, fetched

pytestmark = pytest.mark.django_db


@pytest.fixture
def club(monkeypatch):
    return Club(Clock(monkeypatch))


def cars_in(address):
    return {str(entry["SUMMARY"]).partition(":")[0] for entry in entries(address)}


def status_of(address, method="get", **headers):
    return getattr(Client(), method)(address, headers=headers).status_code


# Who sees what


def test_a_keeper_is_shown_their_own_car_only(club):
    keeper = club.member("keeper")
    club.car("brake-fluid", registration="OWN", keeper=keeper)
    club.car("brake-fluid", registration="OTHER")
    _, address = club.feed(keeper, scope="member")

    assert cars_in(address) == {"OWN"}


def test_a_car_that_goes_to_another_keeper_leaves_the_calendar_at_once(club):
    keeper = club.member("keeper")
    car = club.car("brake-fluid", registration="SOLD", keeper=keeper)
    _, address = club.feed(keeper, scope="vehicle", vehicle=car)

    type(car).objects.filter(pk=car.pk).update(keeper=club.member("keeper"))

    assert cars_in(address) == set()


def test_an_officer_is_shown_every_car_of_the_collection(club):
    club.car("brake-fluid", registration="ONE")
    club.car("brake-fluid", registration="TWO")
    _, address = club.feed(scope="collection")

    assert cars_in(address) == {"ONE", "TWO"}


def test_an_officer_who_becomes_a_keeper_is_no_longer_shown_others_cars(club):
    officer = club.member("technical_officer")
    club.car("brake-fluid", registration="OTHER")
    _, address = club.feed(officer, scope="collection")

    type(officer).objects.filter(pk=officer.pk).update(role="keeper")

    assert cars_in(address) == set()


def test_a_calendar_never_shows_cars_of_another_club(club):
    other = Club(club.clock)
    other.car("brake-fluid", registration="THEIRS")
    other.feed()
    _, address = club.feed()

    assert cars_in(address) == set()


def test_a_calendar_of_one_car_shows_that_car_alone(club):
    car = club.car("brake-fluid", registration="ONE")
    club.car("brake-fluid", registration="TWO")
    _, address = club.feed(scope="vehicle", vehicle=car)

    assert cars_in(address) == {"ONE"}


def test_a_calendar_can_be_narrowed_to_what_is_critical_for_safety(club):
    club.car("brake-fluid", "coolant")
    _, address = club.feed(criticalities=["safety"])

    assert {entry["PRIORITY"] for entry in entries(address)} == {1}


def test_a_keeper_can_have_no_calendar_of_the_whole_collection(club):
    with pytest.raises(Refused, match="/scope: a keeper sees only their own cars"):
        club.feed(club.member("keeper"), scope="collection")

    assert not CalendarFeed.objects.exists()


def test_a_keeper_can_have_no_calendar_of_somebody_elses_car(club):
    car = club.car("brake-fluid")

    with pytest.raises(Refused, match="/vehicle: is no car"):
        club.feed(club.member("keeper"), scope="vehicle", vehicle=car)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": " "}, "/name: is missing"),
        ({"name": "a\r\nBEGIN:VEVENT\nX:1"}, "/name: holds a line break"),
        ({"scope": "club"}, "/scope: 'club' is no known scope"),
        ({"scope": "vehicle"}, "/vehicle: is missing"),
        ({"form": "todo"}, "/form: 'todo' is no known form; the nearest known word is 'todos'"),
        ({"criticalities": []}, "/criticalities: is empty"),
        ({"criticalities": ["safty"]}, "/criticalities/0: 'safty' is no known criticality"),
        ({"lead_times": [30, -1]}, "/lead_times/1: -1 days is out of range"),
        ({"lead_times": [366]}, "/lead_times/0: 366 days is out of range"),
        ({"lead_times": list(range(11))}, "/lead_times: has more than 10 days"),
    ],
)
def test_a_calendar_that_makes_no_sense_is_refused_by_field(club, given, said):
    with pytest.raises(Refused) as refused:
        club.feed(**given)

    assert said in str(refused.value)


def test_lead_times_are_changed_without_a_new_address(club):
    club.car("brake-fluid")
    feed, address = club.feed(lead_times=[])

    change_feed(feed=feed, version=1, changes={"lead_times": [7, 30, 7]}, today=club.clock.today)

    assert len(entries(address)[0].walk("VALARM")) == 2


def test_a_calendar_that_turns_to_another_car_shows_what_falls_due_on_that_one(club):
    one = club.car("brake-fluid", registration="ONE")
    two = club.car("brake-fluid", registration="TWO")
    feed, address = club.feed(scope="vehicle", vehicle=one)

    change_feed(feed=feed, version=1, changes={"vehicle": two}, today=club.clock.today)

    assert cars_in(address) == {"TWO"}


def test_a_car_that_comes_to_a_keeper_with_a_calendar_is_shown_in_it(club):
    keeper = club.member("keeper")
    car = club.car("brake-fluid", registration="BOUGHT")
    _, address = club.feed(keeper, scope="member")

    change_vehicle(vehicle=car, version=1, changes={"keeper": keeper}, today=club.clock.today)

    assert cars_in(address) == {"BOUGHT"}


# The address


def test_an_unknown_address_is_not_found(club):
    assert status_of("/api/calendar/idlecal_guess.ics") == 404


def test_a_revoked_address_answers_like_one_that_never_was(club):
    feed, address = club.feed()

    revoke_feed(feed=feed, version=1)

    unknown = Client().get("/api/calendar/idlecal_guess.ics")
    assert Client().get(address).content == unknown.content


def test_a_new_address_ends_the_old_one(club):
    feed, old = club.feed()

    secret = renew_address(feed=feed, at=club.clock.instant)

    assert status_of(old) == 404
    assert status_of(f"/api/calendar/{secret}.ics") == 200


def test_a_calendar_of_a_closed_account_is_not_found(club):
    _, address = club.feed()

    account = club.secretary.account
    type(account).objects.filter(pk=account.pk).update(is_active=False)

    assert status_of(address) == 404


def test_the_secret_of_an_address_is_kept_nowhere(club):
    feed, address = club.feed()

    secret = address.split("/")[-1].removesuffix(".ics")

    assert len(secret) > 40
    assert secret not in str(CalendarFeed.objects.filter(pk=feed.pk).values().get())


def test_a_calendar_sets_no_cookie_and_asks_to_be_passed_on_to_nobody(club):
    _, address = club.feed()

    answer = fetched(address)

    assert not answer.cookies
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["X-Robots-Tag"] == "noindex, nofollow"
    assert answer["Cache-Control"] == "private, no-cache"


def test_a_signed_in_session_gives_no_more_than_the_address(club):
    """A browser's cookie neither opens a calendar nor changes what it shows."""
    _, address = club.feed()
    browser = Client()
    browser.force_login(club.secretary.account)

    assert browser.get("/api/calendar/idlecal_guess.ics").status_code == 404
    assert browser.get(address).content == fetched(address).content


def test_an_address_is_read_only(club):
    _, address = club.feed()

    answer = Client().post(address)

    assert answer.status_code == 405
    assert answer["Content-Type"] == "application/problem+json"
    assert "GET" in answer["Allow"]


@pytest.mark.parametrize("query", ["as=cards", "form=todos"])
def test_a_query_that_can_not_be_read_is_refused(club, query):
    _, address = club.feed()

    answer = Client().get(f"{address}?{query}")

    assert answer.status_code == 400
    assert answer.json()["type"] == "/api/v1/problems/invalid-query"


# Conditional requests (RFC 9110, section 13)


def test_a_calendar_that_is_known_already_is_not_sent_again(club):
    club.car("brake-fluid")
    _, address = club.feed()
    known = fetched(address)

    assert status_of(address, **{"if-none-match": known["ETag"]}) == 304
    assert status_of(address, **{"if-modified-since": known["Last-Modified"]}) == 304
    assert not known["ETag"].startswith("W/")


def test_a_change_is_sent_to_who_knows_the_calendar_by_its_tag_or_its_time(club):
    car = club.car("brake-fluid")
    _, address = club.feed()
    known = fetched(address)

    club.renew(Component.objects.get(vehicle=car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    # All in the same second: a time in whole seconds must still tell the two apart.
    assert status_of(address, **{"if-none-match": known["ETag"]}) == 200
    assert status_of(address, **{"if-modified-since": known["Last-Modified"]}) == 200


def test_events_and_todos_of_one_address_have_tags_of_their_own(club):
    club.car("brake-fluid")
    _, address = club.feed()

    events, todos = fetched(address), fetched(f"{address}?as=todos")

    assert events["ETag"] != todos["ETag"]
    assert fetched(address)["Last-Modified"] == events["Last-Modified"]


def test_a_calendar_that_shrinks_with_its_members_rights_is_modified(club):
    """What is shown changes although no entry did."""
    officer = club.member("technical_officer")
    club.car("brake-fluid", keeper=None)
    _, address = club.feed(officer)
    known = fetched(address)

    club.clock.advance(minutes=1)
    type(officer).objects.filter(pk=officer.pk).update(role="keeper")

    assert status_of(address, **{"if-modified-since": known["Last-Modified"]}) == 200


def test_the_head_of_a_calendar_is_that_of_the_whole(club):
    _, address = club.feed()

    head = Client().head(address)

    assert head.status_code == 200 and head.content == b""
    assert head["ETag"] == fetched(address)["ETag"]
