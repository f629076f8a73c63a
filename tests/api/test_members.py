"""Founding a collection, changing who does what in it, and leaving it, over HTTP."""

import pytest

from maintenance.models import Member
from tests.api.callers import Caller, pointers
from tests.factories import AccountFactory, MemberFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper(club):
    return MemberFactory(collection=club, role="keeper")


def test_whoever_has_an_account_founds_a_collection_and_runs_it():
    founder = Caller(AccountFactory())
    made = founder.post("collections", {"name": "Mere Club", "time_zone": "Europe/Lisbon"})
    assert made.status_code == 201
    assert founder.get(made["Location"]).json()["name"] == "Mere Club"
    [member] = founder.items("members")
    assert (member["collection"], member["role"]) == (made.json()["id"], "secretary")


def test_where_the_operator_says_so_only_staff_found_collections(settings):
    settings.FOUNDED_BY_STAFF_ALONE = True
    for staff, status in ((False, 403), (True, 201)):
        founder = Caller(AccountFactory(is_staff=staff))
        assert founder.post("collections", {"name": "Mere Club"}).status_code == status


def test_a_secretary_changes_name_and_role_of_a_member(secretary, keeper):
    change = {"name": "Ada", "role": "technical_officer"}
    answer = secretary.patch(f"members/{keeper.pk}", change, If_Match="*").json()
    assert (answer["name"], answer["role"], answer["version"]) == ("Ada", "technical_officer", 2)


@pytest.mark.parametrize("role", ["technical_officer", "keeper", "viewer"])
def test_nobody_else_changes_a_role_not_even_their_own(club, secretary, role):
    member = MemberFactory(collection=club, role=role)
    answer = Caller(member.account).patch(
        f"members/{member.pk}", {"role": "secretary"}, If_Match="*"
    )
    assert answer.status_code == 403


def test_the_last_secretary_is_told_to_make_another_one_first(secretary):
    [member] = secretary.items("members")
    demoted = secretary.patch(f"members/{member['id']}", {"role": "viewer"}, If_Match="*")
    assert pointers(demoted) == {"/role"}
    gone = secretary.delete(f"members/{member['id']}", If_Match="*")
    assert (gone.status_code, "last secretary" in gone.json()["detail"]) == (422, True)


def test_a_member_leaves_and_sees_nothing_any_more(secretary, keeper, car):
    car.keeper = keeper
    car.save()
    caller = Caller(keeper.account)
    assert caller.delete(f"members/{keeper.pk}", If_Match="*").status_code == 204
    assert caller.items("vehicles") == caller.items("collections") == []
    assert secretary.get(f"vehicles/{car.pk}").json()["keeper"] is None


def test_a_secretary_lets_a_member_go_and_names_who_keeps_the_cars(secretary, keeper, car):
    car.keeper, heir = keeper, MemberFactory(collection=car.collection, role="keeper")
    car.save()
    path = f"members/{keeper.pk}?cars_to={heir.pk}"
    assert secretary.delete(path, If_Match="*").status_code == 204
    assert secretary.get(f"vehicles/{car.pk}").json()["keeper"] == str(heir.pk)


def test_who_leaves_gives_the_cars_to_nobody_unasked(secretary, club, keeper):
    heir = MemberFactory(collection=club, role="keeper")
    path = f"members/{keeper.pk}?cars_to={heir.pk}"
    assert Caller(keeper.account).delete(path, If_Match="*").status_code == 403


@pytest.mark.parametrize("heir", ["the one over there", "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061"])
def test_a_new_keeper_whom_nobody_knows_is_refused_by_name(secretary, keeper, heir):
    answer = secretary.delete(f"members/{keeper.pk}?cars_to={heir}", If_Match="*")
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["parameter"] == "cars_to"


def test_an_officer_lets_nobody_go_and_a_stranger_meets_nobody(club, stranger, keeper):
    officer = Caller(MemberFactory(collection=club, role="technical_officer").account)
    assert officer.delete(f"members/{keeper.pk}", If_Match="*").status_code == 403
    assert stranger.delete(f"members/{keeper.pk}", If_Match="*").status_code == 404
    assert Member.objects.filter(pk=keeper.pk).exists()


def test_a_member_erases_themself_for_good(club, secretary, keeper):
    caller = Caller(keeper.account)
    answer = caller.post(f"members/{keeper.pk}/erasure", {"confirm": keeper.name})
    assert (answer.status_code, answer.json()["account"]) == (201, True)
    assert caller.get("members").status_code == 401
    assert len(secretary.items("members")) == 1


def test_a_secretary_erases_a_member_and_has_to_type_the_name(secretary, keeper):
    path = f"members/{keeper.pk}/erasure"
    assert pointers(secretary.post(path, {"confirm": "yes"})) == {"/confirm"}
    assert secretary.post(path, {"confirm": keeper.name}).status_code == 201
    assert secretary.get(f"members/{keeper.pk}").status_code == 404


def test_nobody_else_erases_a_member(club, stranger, keeper):
    officer = Caller(MemberFactory(collection=club, role="technical_officer").account)
    asked = {"confirm": keeper.name}
    assert officer.post(f"members/{keeper.pk}/erasure", asked).status_code == 403
    assert stranger.post(f"members/{keeper.pk}/erasure", asked).status_code == 404
