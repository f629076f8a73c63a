"""Who is told of which car."""

import pytest
from django.core import mail

from maintenance.models import Reminder
from tests import factories
from tests.reminders.told import find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]


def told_of(item):
    find(item)
    return set(item.reminders.values_list("member__role", flat=True))


def test_a_keeper_is_told_of_their_own_car():
    item = item_due(30)
    factories.MemberFactory(role="technical_officer", collection=item.collection)
    assert told_of(item) == {"keeper"}


def test_a_car_without_a_keeper_is_told_to_the_technical_officer():
    car = factories.VehicleFactory()
    for role in ("secretary", "technical_officer", "viewer", "keeper"):
        factories.MemberFactory(role=role, collection=car.collection)
    assert told_of(item_due(30, vehicle=car, member=car.collection.members.first())) == {
        "technical_officer"
    }


def test_where_there_is_no_technical_officer_the_secretary_is_told():
    secretary = factories.MemberFactory(role="secretary")
    car = factories.VehicleFactory(collection=secretary.collection)
    assert told_of(item_due(30, member=secretary, vehicle=car)) == {"secretary"}


def test_an_officer_may_be_told_of_the_whole_collection():
    item = item_due(30)
    officer = factories.MemberFactory(role="technical_officer", collection=item.collection)
    preference_of(officer, whole_collection=True)
    assert told_of(item) == {"keeper", "technical_officer"}


def test_an_officer_who_becomes_a_viewer_is_told_of_the_whole_collection_no_more():
    item = item_due(30)
    officer = factories.MemberFactory(role="viewer", collection=item.collection)
    preference_of(officer, whole_collection=True)
    assert told_of(item) == {"keeper"}


def test_a_member_without_any_channel_is_not_told():
    item = item_due(30)
    preference_of(item.vehicle.keeper, channels=[])
    assert told_of(item) == set()


def test_a_mail_names_no_car_of_another_member_or_collection():
    mine = item_due(30)
    others = [
        item_due(30, member=factories.MemberFactory(role="keeper", collection=mine.collection)),
        item_due(30),
    ]
    for item in (mine, *others):
        preference_of(item.vehicle.keeper)
    for item in (mine, *others):
        find(item)
    send()
    address = mine.vehicle.keeper.account.email
    (text,) = [each.message().as_string() for each in mail.outbox if each.to == [address]]
    assert mine.vehicle.registration in text
    for other in others:
        assert other.vehicle.registration not in text
        assert str(other.pk) not in text
    assert Reminder.objects.filter(state="sent").count() == 3
