import pytest

from maintenance.models import CalendarFeed, ExportJob, LayUp, Member, ReminderPreference
from maintenance.services.calendar_feeds import issue_feed
from maintenance.services.collections import (
    change_collection,
    create_collection,
    found_collection,
)
from maintenance.services.file_jobs import request_export
from maintenance.services.lay_ups import lay_up
from maintenance.services.members import add_member, change_member, remove_member
from maintenance.services.refusals import Outdated
from maintenance.services.verify_history import verify_history
from tests.factories import AccountFactory, CollectionFactory, MemberFactory, VehicleFactory
from tests.services.asking import refused, standing

pytestmark = pytest.mark.django_db


def test_a_collection_is_founded_in_its_time_zone():
    assert create_collection(name="Mere", time_zone="Europe/Lisbon").zone.key == "Europe/Lisbon"


def test_who_founds_a_collection_is_its_secretary():
    founder = AccountFactory(first_name="Ada", last_name="Merrow")
    collection = found_collection(by=founder, name="Mere")
    member = Member.objects.get(collection=collection)
    assert (member.account, member.name, member.role) == (founder, "Ada Merrow", "secretary")


def test_a_time_zone_that_does_not_exist_is_refused_with_the_nearest_one():
    problems = refused(create_collection, name="Mere", time_zone="Europe/Lisbone")
    assert "'Europe/Lisbon'" in problems["/time_zone"]


def test_a_collection_needs_a_name_and_a_known_unit():
    assert set(refused(create_collection, name=" ", distance_unit="m")) == {
        "/name",
        "/distance_unit",
    }


def test_a_collection_is_renamed(today):
    collection = CollectionFactory()
    change_collection(collection=collection, version=1, changes={"name": "Mere"}, today=today)
    collection.refresh_from_db()
    assert (collection.name, collection.version) == ("Mere", 2)


def test_an_outdated_version_of_a_collection_is_not_changed(today):
    with pytest.raises(Outdated):
        change_collection(
            collection=CollectionFactory(), version=2, changes={"name": "Mere"}, today=today
        )


def test_an_account_is_a_member_once():
    member = MemberFactory()
    problems = refused(
        add_member,
        collection=member.collection,
        account=member.account,
        name="again",
        role="viewer",
    )
    assert set(problems) == {"/account"}


def test_an_unknown_role_is_refused_with_the_nearest_one():
    problems = refused(
        add_member,
        collection=CollectionFactory(),
        account=AccountFactory(),
        name="Ada",
        role="secretry",
    )
    assert "'secretary'" in problems["/role"]


def test_the_last_secretary_stays_secretary():
    member = MemberFactory(role="secretary")
    problems = refused(change_member, member=member, version=1, changes={"role": "viewer"})
    assert set(problems) == {"/role"}


def test_one_of_two_secretaries_may_become_a_keeper():
    member = MemberFactory(role="secretary")
    MemberFactory(collection=member.collection, role="secretary")
    assert change_member(member=member, version=1, changes={"role": "keeper"}).role == "keeper"


def test_the_last_secretary_does_not_leave(today):
    assert refused(remove_member, member=MemberFactory(role="secretary"), today=today)


def test_a_keeper_who_leaves_leaves_the_car_behind(today):
    member = MemberFactory(role="keeper")
    MemberFactory(collection=member.collection, role="secretary")
    car = VehicleFactory(collection=member.collection, keeper=member)
    remove_member(member=member, today=today)
    car.refresh_from_db()
    assert (car.keeper, car.version, Member.objects.count()) == (None, 2, 1)


def test_the_cars_of_who_leaves_go_to_another_keeper(today):
    member, heir = keepers_of_one_club()
    car = VehicleFactory(collection=member.collection, keeper=member)
    remove_member(member=member, today=today, cars_to=heir)
    car.refresh_from_db()
    assert car.keeper == heir


def test_the_cars_of_who_leaves_go_to_nobody_outside_the_collection(today):
    member, _ = keepers_of_one_club()
    problems = refused(remove_member, member=member, today=today, cars_to=MemberFactory())
    assert set(problems) == {"/cars_to"}


def test_what_belonged_to_a_membership_ends_with_it(today, now):
    member, _ = keepers_of_one_club()
    ReminderPreference.objects.create(member=member, collection=member.collection)
    request_export(member=member, form="json", at=now)
    issue_feed(member=member, given={"name": "mine"}, at=now, today=today)
    remove_member(member=member, today=today)
    for table in (ReminderPreference, ExportJob, CalendarFeed):
        assert not table.objects.exists()


def test_what_a_member_recorded_stays_when_they_leave(today, now):
    member, _ = keepers_of_one_club()
    car = VehicleFactory(collection=member.collection, keeper=member)
    when = {"by": member.account, "at": now, "today": today}
    lay_up(vehicle=car, draft=standing("2026-10-01"), **when)
    remove_member(member=member, today=today)
    assert LayUp.objects.get().recorded_by == member.account
    assert [each.faults for each in verify_history([car])] == [[]]


def keepers_of_one_club():
    """Two keepers; the collection has a secretary besides."""
    club = MemberFactory(role="secretary").collection
    return [MemberFactory(collection=club, role="keeper") for _ in range(2)]
