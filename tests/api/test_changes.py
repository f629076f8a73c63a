"""Another program mirrors a collection by its feed of changes."""

import datetime
import random

import pytest
from django.db import connection

from api.places import opened, sealed
from api.urls import NOUNS, OF_COLLECTIONS
from maintenance.models import Change, Member
from maintenance.models.change_triggers import EVENTS, keep_triggers, set_triggers_aside
from maintenance.models.changed_nouns import NOUNS as TOLD
from maintenance.queries import changes
from maintenance.queries.changes import Place
from maintenance.queries.roles import right_to
from maintenance.services.changes import forget_changes
from maintenance.services.handover import hand_over_records
from maintenance.services.members import remove_member
from tests.api.callers import Caller
from tests.api.mirror import MIRRORED, Mirror, listed
from tests.api.test_access import furnished
from tests.api.writes import Writes
from tests.factories import (
    NOW,
    ComponentFactory,
    IntervalRuleFactory,
    MemberFactory,
    PaperFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def settled(monkeypatch):
    """Take what this test writes as ended, for its transaction never ends."""
    monkeypatch.setattr(changes, "horizon", lambda: 2**62)


@pytest.fixture
def keeper(club):
    return MemberFactory(collection=club, role="keeper")


def told(caller, place):
    items = caller.get("changes", {"after": place, "limit": 200}).json()["items"]
    return [(line["noun"], line["change"], line["id"]) for line in items]


def present(caller):
    return caller.get("changes").json()["after"]


@pytest.mark.parametrize("seed", (1, 2))
def test_mirrors_that_follow_the_feed_show_what_fresh_lists_show(seed, club, secretary, stranger):
    chance = random.Random(seed)
    members = [MemberFactory(collection=club, role=role) for role in ("keeper", "keeper", "viewer")]
    for keeper in (members[0], members[1], None):
        car = VehicleFactory(collection=club, keeper=keeper)
        ComponentFactory(vehicle=car, kind="coolant")
    writes = Writes(club, secretary, members, chance)
    callers = [secretary, stranger, *[Caller(member.account) for member in members]]
    mirrors = [Mirror(caller, limit=7) for caller in callers]
    for _ in range(40):
        writes.one()
        if chance.random() < 0.2:
            chance.choice(mirrors).follow()
    for mirror in mirrors:
        mirror.follow()
        assert mirror.rows == listed(mirror.caller)
        assert mirror.follow() == 0
        assert len(set(mirror.seen)) == len(mirror.seen)
    assert len(mirrors[0].seen) > 40 and not mirrors[1].seen


def test_the_document_names_every_noun_that_the_feed_covers(document):
    said = document["components"]["schemas"]["Change"]["properties"]["noun"]["description"]
    assert said.endswith(f"The feed covers {', '.join(noun.name for noun in TOLD)}.")


def test_every_noun_that_is_listed_is_told_of():
    assert {noun.name for noun in TOLD} == set(MIRRORED)
    assert set(MIRRORED) < set(NOUNS | OF_COLLECTIONS)


def test_the_triggers_know_which_roles_see_cars_by_their_keeper_alone():
    reach = right_to("see", "vehicles").reach
    assert [role for role in Member.Role if reach[role] != "all"] == [Member.Role.KEEPER]


def test_triggers_set_aside_for_a_migration_are_put_back_after_it(db):
    set_triggers_aside("default")
    keep_triggers("default")
    test_every_table_has_its_triggers()


def test_every_table_has_its_triggers():
    if connection.vendor == "postgresql":
        question = "SELECT tgrelid::regclass::text, tgname FROM pg_trigger"
    else:
        question = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    with connection.cursor() as cursor:
        cursor.execute(question)
        found = {(table, name.split("_of_")[0]) for table, name in cursor.fetchall()}
    tables = [f"maintenance_{noun.model.lower()}" for noun in TOLD]
    wanted = {(table, f"changes_noted_{event}") for table in tables for event in EVENTS}
    assert wanted <= found


@pytest.mark.parametrize("noun", sorted(set(MIRRORED) - {"collections", "part-offers", "vehicles"}))
def test_a_new_row_of_every_noun_is_told_with_its_address(noun, secretary, car):
    place = present(secretary)
    row = furnished(car)[noun]
    lines = secretary.get("changes", {"after": place, "limit": 200}).json()["items"]
    [line] = [line for line in lines if line["id"] == str(row.pk) and line["change"] == "created"]
    assert line["noun"] == noun
    assert secretary.get(line["url"]).json()["id"] == line["id"]


def test_a_row_written_again_as_it_was_is_not_told(secretary, car):
    place = present(secretary)
    car.save()
    assert told(secretary, place) == []


def test_a_page_without_changes_gives_its_place_back_and_can_be_asked_by_its_tag(secretary, car):
    place = present(secretary)
    answer = secretary.get("changes", {"after": place})
    assert answer.json() == {"items": [], "after": place, "next": None}
    again = secretary.get("changes", {"after": place}, If_None_Match=answer["ETag"])
    assert again.status_code == 304


def test_a_keeper_is_told_of_their_own_car_alone(club, keeper):
    own, other = VehicleFactory(collection=club, keeper=keeper), VehicleFactory(collection=club)
    caller = Caller(keeper.account)
    place = present(caller)
    paper = PaperFactory(vehicle=own)
    PaperFactory(vehicle=other)
    rule = IntervalRuleFactory(collection=club)
    IntervalRuleFactory(collection=club, vehicle=other, kind="coolant")
    MemberFactory(collection=club)
    assert told(caller, place) == [
        ("papers", "created", str(paper.pk)),
        ("interval-rules", "created", str(rule.pk)),
    ]


def test_a_keeper_whose_car_goes_to_another_learns_that_it_is_gone_and_no_more(club, keeper):
    car = VehicleFactory(collection=club, keeper=keeper)
    caller = Caller(keeper.account)
    place = present(caller)
    other = MemberFactory(collection=club, role="keeper")
    PaperFactory(vehicle=car)
    car.keeper = other
    car.save()
    PaperFactory(vehicle=car)
    assert told(caller, place) == [("vehicles", "removed", str(car.pk))]
    assert ("vehicles", "created", str(car.pk)) in told(Caller(other.account), place)


def test_a_car_handed_to_another_club_is_gone_from_the_first(secretary, stranger, car):
    furnished(car)
    place, theirs = present(secretary), stranger.account.memberships.get().collection
    hand_over_records(vehicle=car, to=theirs)
    type(car).objects.filter(pk=car.pk).update(collection=theirs)
    assert told(secretary, place) == [("vehicles", "removed", str(car.pk))]
    assert ("vehicles", "created", str(car.pk)) in told(stranger, place)


#: Who somebody is in the collection that gives a car, and in the one that takes it.
@pytest.mark.parametrize(
    "roles", [("keeper", "secretary"), ("secretary", "keeper"), ("keeper", "keeper")]
)
def test_a_mirror_keeps_a_car_that_goes_from_one_collection_of_its_owner_to_another(
    roles, club, secretary, stranger, car
):
    theirs = stranger.account.memberships.get().collection
    here = MemberFactory(collection=club, role=roles[0])
    there = MemberFactory(collection=theirs, role=roles[1], account=here.account)
    car.keeper = here
    car.save()
    PaperFactory(vehicle=car)
    ComponentFactory(vehicle=car, kind="coolant")
    secretary.post("odometer-readings", {"vehicle": str(car.pk), "on": "2026-10-01", "value": 9})
    mirror = Mirror(Caller(here.account))
    code = secretary.post("transfers", {"vehicle": str(car.pk)}).json()["code"]
    taken = {"code": code, "collection": str(theirs.pk), "keeper": str(there.pk)}
    assert stranger.post("transfers/acceptance", taken).status_code == 201
    mirror.follow()
    assert mirror.rows == listed(mirror.caller)
    assert {noun for noun, _ in mirror.rows} > {"odometer-readings", "papers", "vehicles"}


def test_what_is_removed_stands_before_what_is_created():
    for noun in TOLD:
        for event in EVENTS:
            told = [each for each in noun.also if event in each.on and each.noun == noun.name]
            kinds = [each.change for each in told if each.change != "changed"]
            assert kinds == sorted(kinds, reverse=True)


def test_a_member_let_go_learns_that_the_collection_is_gone_and_nothing_after(club, keeper, car):
    caller = Caller(keeper.account)
    place = present(caller)
    remove_member(member=keeper, today=NOW.date())
    PaperFactory(vehicle=car)
    assert told(caller, place) == [("collections", "removed", str(club.pk))]
    assert not Member.objects.filter(account=keeper.account).exists()


def test_another_club_is_told_nothing(stranger, car):
    place = present(stranger)
    furnished(car)
    assert told(stranger, place) == []


def aged(days, **which):
    Change.objects.filter(**which).update(at=NOW - datetime.timedelta(days=days))


def test_a_place_whose_following_lines_were_removed_is_gone(secretary, car):
    place = present(secretary)
    PaperFactory(vehicle=car)
    PaperFactory(vehicle=car)
    aged(91)
    PaperFactory(vehicle=car)
    forget_changes(at=NOW)
    answer = secretary.get("changes", {"after": place})
    assert answer.status_code == 410
    assert answer.json()["type"] == "/api/v1/problems/changes-forgotten"
    assert answer.json()["detail"].startswith("Lines after this place have been removed. Ask")
    assert len(told(secretary, present(secretary))) == 0


def test_a_place_from_before_the_first_line_holds_until_lines_are_removed(secretary, car):
    Change.objects.all().delete()
    place = present(secretary)
    PaperFactory(vehicle=car)
    assert len(told(secretary, place)) == 1
    aged(91)
    assert secretary.get("changes", {"after": place}).status_code == 410


def test_a_client_of_a_quiet_collection_keeps_a_place_that_is_not_removed(secretary, stranger, car):
    place = present(stranger)
    for days in (80, 50, 1):
        PaperFactory(vehicle=car)
        aged(days, pk=Change.objects.latest("id").pk)
        aged(80, pk__lt=Change.objects.latest("id").pk)
        place = stranger.get("changes", {"after": place}).json()["after"]
    forget_changes(at=NOW + datetime.timedelta(days=45))
    assert stranger.get("changes", {"after": place}).status_code == 200


def test_a_place_of_another_database_is_gone(secretary, car):
    cluster, place = opened(present(secretary))
    elsewhere = sealed(cluster + 1, place)
    later = sealed(cluster, Place(0x3FFFFFFFFFFFFFFF, 1))
    for place, why in ((elsewhere, "is of another"), (later, "lies ahead of the")):
        answer = secretary.get("changes", {"after": place})
        assert answer.status_code == 410
        assert answer.json()["detail"].startswith(f"This place {why} database")


def test_a_place_that_a_restored_backup_has_not_come_to_is_told_as_such(secretary, car):
    PaperFactory(vehicle=car)
    place = present(secretary)
    kept = Change.objects.order_by("id").first().pk
    for left in (kept, 0):
        Change.objects.filter(pk__gt=left).delete()
        answer = secretary.get("changes", {"after": place})
        assert answer.status_code == 410
        assert "lies ahead of the database" in answer.json()["detail"]
        assert "list anew every noun" in answer.json()["detail"]


@pytest.mark.parametrize("place", ["x", "1-2", "-1-2-3", "é" * 119 + "=", "a" * 120])
def test_a_place_made_by_hand_is_refused(secretary, place):
    answer = secretary.get("changes", {"after": place})
    assert (answer.status_code, answer.json()["title"][:11]) == (400, "This cursor")


def test_a_place_tells_nothing_of_what_others_write(secretary, stranger, car):
    before = present(stranger)
    again = present(stranger)
    PaperFactory(vehicle=car)
    assert opened(before) == opened(again) and before != again
    answer = stranger.get("changes", {"after": before}).json()
    assert answer == {"items": [], "after": before, "next": None}


def test_a_place_outlives_a_new_secret_while_the_old_one_is_kept(secretary, car, settings):
    place, old = present(secretary), settings.SECRET_KEY
    settings.SECRET_KEY = "another one, no less long, that nobody could ever guess"
    assert secretary.get("changes", {"after": place}).status_code == 410
    settings.SECRET_KEY_FALLBACKS = [old]
    assert secretary.get("changes", {"after": place}).status_code == 200


def test_the_feed_takes_as_many_queries_for_many_lines_as_for_one(
    club, keeper, django_assert_max_num_queries
):
    car = VehicleFactory(collection=club, keeper=keeper)
    caller = Caller(keeper.account)
    place = present(caller)
    for _ in range(20):
        PaperFactory(vehicle=car)
    # The token and memberships; the database, and the age of the place; two kinds of lines.
    with django_assert_max_num_queries(7):
        assert len(told(caller, place)) == 20


def test_what_is_answered_is_what_the_document_says(document, secretary, car):
    from tests.api.test_openapi import broken

    place = present(secretary)
    PaperFactory(vehicle=car)
    content = document["paths"]["/api/v1/changes"]["get"]["responses"]["200"]["content"]
    answer = secretary.get("changes", {"after": place}).json()
    assert answer["items"] and broken(document, content["application/json"]["schema"], answer) == []
