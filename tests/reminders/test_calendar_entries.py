"""What calendars show of a due item, from the day it is known to after it is done."""

import datetime

import pytest

from maintenance.models import CalendarEntry, Component, DueItem
from tests.factories import LayUpFactory, PaperFactory
from tests.reminders.calendars import Clock, Club, entries, fetched

pytestmark = pytest.mark.django_db


@pytest.fixture
def club(monkeypatch):
    return Club(Clock(monkeypatch))


def renewals(address):
    return [entry for entry in entries(address) if "brake fluid renewal" in entry["SUMMARY"]]


def fluid_of(car):
    return Component.objects.get(vehicle=car, kind="brake-fluid")


def test_an_event_lasts_all_of_the_due_day(club):
    club.car("brake-fluid", registration="HM 7")
    _, address = club.feed()

    (event,) = renewals(address)

    assert event["DTSTART"].dt == datetime.date(2027, 1, 15)
    assert "DTEND" not in event
    assert event["SUMMARY"] == "HM 7: brake fluid renewal"


def test_an_event_tells_the_reason_the_caution_and_where_the_working_is(club, settings):
    settings.PUBLIC_URL = "https://cars.example"
    car = club.car("brake-fluid")
    item = DueItem.objects.get(vehicle=car, task="renew")
    _, address = club.feed()

    (event,) = renewals(address)

    assert item.sentence in event["DESCRIPTION"]
    assert item.caution in event["DESCRIPTION"]
    assert event["URL"] == f"https://cars.example/due-items/{item.id}"


def test_no_entry_calls_a_car_safe(club):
    club.car("brake-fluid", "brake-pads", "tyre", "coolant", "battery")
    _, address = club.feed()

    said = " ".join(str(entry["DESCRIPTION"]) for entry in entries(address)).lower()

    assert "car is safe" not in said and "safe to" not in said


def test_a_todo_is_due_on_the_same_day_as_the_event(club):
    club.car("brake-fluid")
    _, address = club.feed()

    (todo,) = renewals(f"{address}?as=todos")

    assert todo.name == "VTODO"
    assert todo["DUE"].dt == datetime.date(2027, 1, 15)
    assert todo["STATUS"] == "NEEDS-ACTION"


def test_event_and_todo_of_one_item_are_one_entry_to_a_program_that_takes_both(club):
    club.car("brake-fluid")
    _, address = club.feed()

    (event,), (todo,) = renewals(address), renewals(f"{address}?as=todos")

    assert event["UID"] == todo["UID"]


def test_alarms_sound_in_the_morning_so_many_days_before(club):
    club.car("brake-fluid")
    _, address = club.feed(lead_times=[30, 0])

    (event,) = renewals(address)

    midnight = datetime.datetime(2027, 1, 15)
    sounds = [midnight + alarm["TRIGGER"].dt for alarm in event.walk("VALARM")]
    assert sounds == [datetime.datetime(2026, 12, 16, 9), datetime.datetime(2027, 1, 15, 9)]


def test_an_alarm_of_a_todo_counts_back_from_the_day_it_is_due(club):
    club.car("brake-fluid")
    _, address = club.feed(lead_times=[7])

    (todo,) = renewals(f"{address}?as=todos")

    (alarm,) = todo.walk("VALARM")
    assert alarm["TRIGGER"].params["RELATED"] == "END"


def test_a_part_without_any_record_stands_on_the_day_on_which_that_was_found(club):
    car = club.car()
    Component.objects.create(vehicle=car, collection=car.collection, kind="brake-fluid")
    club.recompute(car)
    found = club.clock.today
    club.clock.advance(days=40)
    club.recompute(car)
    _, address = club.feed(lead_times=[30])

    (event,), (todo,) = renewals(address), renewals(f"{address}?as=todos")

    assert (event["DTSTART"].dt, todo["DUE"].dt) == (found, found)
    assert not event.walk("VALARM") and not todo.walk("VALARM")


def test_what_falls_due_while_the_car_stands_sounds_no_alarm_and_says_why(club):
    car = club.car("brake-fluid")
    LayUpFactory(vehicle=car, from_on=datetime.date(2026, 10, 1), to_on=None, storage="dry")
    club.recompute(car)
    _, address = club.feed(lead_times=[30, 7])

    (event,) = renewals(address)

    assert not event.walk("VALARM")
    assert "before it is used again" in event["DESCRIPTION"]


def test_a_feed_that_nothing_changed_stays_the_same_to_the_byte_over_months(club):
    car = club.car("brake-fluid", "brake-pads")
    _, address = club.feed()
    before = fetched(address).content

    club.clock.advance(days=75)
    club.recompute(car)

    assert fetched(address).content == before


def test_a_day_that_moves_keeps_its_uid_and_raises_the_sequence(club):
    car = club.car("brake-fluid")
    _, address = club.feed()
    (before,) = renewals(address)

    club.clock.advance(days=1)
    LayUpFactory(vehicle=car, from_on=datetime.date(2025, 10, 1), storage="outdoors")
    club.recompute(car)

    (after,) = renewals(address)
    assert after["DTSTART"].dt < before["DTSTART"].dt
    assert after["UID"] == before["UID"]
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert after["DTSTAMP"].dt == after["LAST-MODIFIED"].dt == club.clock.instant


def test_work_done_cancels_the_event_and_the_next_one_is_another(club):
    car = club.car("brake-fluid")
    _, address = club.feed(lead_times=[30])
    (before,) = renewals(address)

    club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    cancelled, new = renewals(address)
    assert (cancelled["UID"], cancelled["STATUS"]) == (before["UID"], "CANCELLED")
    assert cancelled["SEQUENCE"] == 1 and not cancelled.walk("VALARM")
    assert cancelled["DTSTART"].dt == datetime.date(2027, 1, 15)
    assert new["DTSTART"].dt == datetime.date(2028, 11, 20)
    assert new["UID"] != before["UID"] and new["STATUS"] == "CONFIRMED"


def test_work_done_ticks_the_todo_off_as_cancelled(club):
    car = club.car("brake-fluid")
    _, address = club.feed()

    club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    assert [todo["STATUS"] for todo in renewals(f"{address}?as=todos")] == [
        "CANCELLED",
        "NEEDS-ACTION",
    ]


def test_work_that_is_withdrawn_brings_the_event_back_under_its_uid(club):
    car = club.car("brake-fluid")
    _, address = club.feed()
    (before,) = renewals(address)
    entry = club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    type(entry.event).objects.filter(pk=entry.event_id).update(current=False)
    club.recompute(car)

    standing = [event for event in renewals(address) if event["STATUS"] == "CONFIRMED"]
    assert [event["UID"] for event in standing] == [before["UID"]]
    assert standing[0]["SEQUENCE"] == 2


def test_a_paper_that_is_removed_is_cancelled(club):
    car = club.car()
    paper = PaperFactory(vehicle=car)
    club.recompute(car)
    _, address = club.feed()

    DueItem.objects.filter(paper=paper).delete()
    paper.delete()
    club.recompute(car)

    (event,) = entries(address)
    assert event["STATUS"] == "CANCELLED"


@pytest.mark.parametrize(("days", "shown"), [(90, True), (91, False)])
def test_a_cancelled_event_is_shown_for_ninety_days(club, days, shown):
    car = club.car("brake-fluid")
    _, address = club.feed()
    club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    club.clock.advance(days=days)

    assert ("CANCELLED" in [event["STATUS"] for event in renewals(address)]) is shown


def test_a_cancelled_entry_is_forgotten_once_nobody_is_shown_it(club):
    car = club.car("brake-fluid")
    club.feed()
    club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))
    club.recompute(car)

    club.clock.advance(days=91)
    club.recompute(car)

    assert not CalendarEntry.objects.filter(cancelled_at__isnull=False).exists()


def test_nothing_is_written_for_a_car_that_no_feed_is_about(club):
    one = club.car("brake-fluid")
    two = club.car("brake-fluid")
    assert not CalendarEntry.objects.exists()

    club.feed(scope="vehicle", vehicle=one)
    club.recompute(two)

    assert set(CalendarEntry.objects.values_list("vehicle", flat=True)) == {one.pk}


def test_a_uid_names_no_host_car_or_member(club):
    club.car("brake-fluid", registration="HM 7")
    _, address = club.feed()

    (event,) = renewals(address)

    assert str(CalendarEntry.objects.get(uid=event["UID"]).uid) == event["UID"]
    assert "@" not in event["UID"] and "HM" not in event["UID"]


def test_entries_change_with_the_due_items_or_not_at_all(club, monkeypatch):
    """A failure after the entries were written takes them back with the items."""
    car = club.car("brake-fluid")
    club.feed()
    before = list(CalendarEntry.objects.order_by("id").values())
    club.renew(fluid_of(car), on=datetime.date(2026, 11, 20))

    monkeypatch.setattr(CalendarEntry.objects, "bulk_update", _fails)
    with pytest.raises(RuntimeError):
        club.recompute(car)

    assert list(CalendarEntry.objects.order_by("id").values()) == before
    assert DueItem.objects.get(vehicle=car, task="renew").due_on == datetime.date(2027, 1, 15)


def _fails(*args, **kwargs):
    raise RuntimeError("the machine stops")
