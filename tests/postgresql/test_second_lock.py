"""The second lock: what the database shows where no query narrows anything."""

import threading

import pytest
from django.apps import apps
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test import Client

from maintenance.checks import second_lock_holds
from maintenance.models import Account, Collection, LayUp, Member, Paper, Vehicle
from maintenance.queries.second_lock import EVERYTHING, NOTHING, everything_in_sight, see
from maintenance.reminders.letters import INVITATION_PREFIX, TRANSFER_PREFIX
from maintenance.reminders.once import digest_of, secret_of
from maintenance.reminders.unsubscribe import unsubscribe_address
from tests import factories
from tests.api.callers import Caller
from tests.api.two_clubs import TwoClubs
from tests.factories_of_members import CalendarFeedFactory, TransferFactory
from tests.ordinary_role import as_ordinary_role

#: Tables without a policy, and why.
UNLOCKED = {
    "maintenance_account": "of people, who are in several collections or in none",
    "maintenance_account_groups": "of people",
    "maintenance_account_user_permissions": "of people",
    "maintenance_accesstoken": "of people; a token is read before anything is known of who asks",
    "maintenance_keptanswer": "of people, by account and key",
    "maintenance_change": "identifiers alone, some for accounts that have left a collection",
}
LOCKED = """
SELECT relname FROM pg_class WHERE relrowsecurity AND relforcerowsecurity
AND EXISTS (SELECT 1 FROM pg_policy WHERE polrelid = pg_class.oid)
"""


@pytest.fixture(autouse=True)
def nothing_in_sight_afterwards():
    yield
    see(NOTHING)


@pytest.fixture
def clubs(db):
    clubs = TwoClubs()
    with as_ordinary_role():
        yield clubs


def said():
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('idle_years.collections', true)")
        return cursor.fetchone()[0] or ""


def with_rows(clubs):
    """Return the models of which the club has a row."""
    rows = clubs.rows.values()
    return {type(row) for row in rows if type(row)._meta.db_table not in UNLOCKED}


def test_every_table_of_a_collection_is_locked(db):
    tables = connection.introspection.django_table_names(include_views=False)
    ours = {table for table in tables if table.startswith("maintenance_")}
    with connection.cursor() as cursor:
        cursor.execute(LOCKED)
        locked = {table for (table,) in cursor.fetchall()}
    assert ours - locked == UNLOCKED.keys()


def test_who_says_nothing_sees_nothing(clubs):
    for model in apps.get_app_config("maintenance").get_models():
        if model._meta.db_table not in UNLOCKED:
            assert not model._default_manager.exists(), model


def test_another_clubs_rows_do_not_appear_in_a_query_that_forgets_to_ask(clubs):
    see([clubs.club.pk])
    shown = {model: model._default_manager.count() for model in with_rows(clubs)}
    assert all(shown.values()), shown
    see([clubs.other.pk])
    for model in with_rows(clubs) - {Collection, Member, Vehicle}:
        assert not model._default_manager.exists(), model
    assert clubs.car not in Vehicle.objects.all()


def test_what_hangs_on_a_row_is_seen_with_it(clubs):
    hanging = [apps.get_model("maintenance", name) for name in ("ImportProblem", "WebhookSecret")]
    for model in hanging:
        see([clubs.club.pk])
        assert model._default_manager.exists()
        see([clubs.other.pk])
        assert not model._default_manager.exists()


def test_no_row_can_be_written_into_a_collection_out_of_sight(clubs):
    see([clubs.other.pk])
    row = {"vehicle_id": clubs.car.pk, "kind": "insurance", "until": "2027-01-01"}
    with pytest.raises(DatabaseError, match="row-level security"), transaction.atomic():
        Paper.objects.create(collection_id=clubs.club.pk, **row)


def test_no_row_can_be_moved_out_of_sight(clubs):
    see([clubs.club.pk])
    with pytest.raises(DatabaseError, match="row-level security"), transaction.atomic():
        Paper.objects.update(collection_id=clubs.other.pk)


def test_a_row_out_of_sight_is_neither_changed_nor_removed(clubs):
    see([clubs.other.pk])
    assert Paper.objects.update(issuer="nobody") == 0
    assert Paper.objects.all().delete()[0] == 0


def test_nothing_is_in_sight_once_a_call_is_answered(clubs):
    assert clubs.callers["secretary"].items("vehicles")
    assert said() == NOTHING


def test_what_was_said_within_a_transaction_that_fails_is_forgotten(clubs):
    with pytest.raises(IntegrityError), transaction.atomic(), everything_in_sight():
        LayUp.objects.create(collection=clubs.club, vehicle=clubs.car, from_on=None)
    assert said() == NOTHING


def test_a_connection_opened_later_is_told_what_is_in_sight(db):
    heard = []

    def elsewhere():
        see(EVERYTHING)
        heard.append(said())
        connection.close()

    thread = threading.Thread(target=elsewhere)
    thread.start()
    thread.join()
    assert heard == [EVERYTHING]
    assert said() == NOTHING


def test_a_calendar_program_is_answered_by_the_secret_alone(clubs):
    with everything_in_sight():
        feed = CalendarFeedFactory(member=clubs.keeper)
    answer = Client().get(f"/api/calendar/idlecal_{feed.name}.ics")
    assert answer.status_code == 200


def test_one_click_stops_the_mail_of_who_is_not_signed_in(clubs):
    address = unsubscribe_address(clubs.keeper.pk, "email").partition("/api")[2]
    answer = Client().post(f"/api{address}", {"List-Unsubscribe": "One-Click"})
    assert answer.status_code == 200


def test_whoever_is_invited_comes_in_by_the_secret(clubs):
    with everything_in_sight():
        row = factories.InvitationFactory(collection=clubs.club)
        secret = secret_of(INVITATION_PREFIX, row.pk)
        type(row).objects.filter(pk=row.pk).update(digest=digest_of(secret))
    guest = clubs.callers["member of no club"]
    answer = guest.post("invitations/acceptance", {"secret": secret})
    assert answer.status_code == 201
    assert len(guest.items("collections")) == 1


def test_a_car_goes_to_a_club_that_could_not_see_it(clubs):
    with everything_in_sight():
        car = factories.VehicleFactory(collection=clubs.club)
        row = TransferFactory.build(vehicle=car, collection=clubs.club, elsewhere=True)
        code = secret_of(TRANSFER_PREFIX, row.pk)
        row.digest = digest_of(code)
        row.save()
    taker = clubs.callers["secretary of another club"]
    answer = taker.post("transfers/acceptance", {"code": code, "collection": str(clubs.other.pk)})
    assert answer.status_code == 201, answer.content
    assert str(car.pk) in {each["id"] for each in taker.items("vehicles")}


def test_an_operator_sees_every_collection_in_the_admin(clubs):
    operator = Account.objects.create(username="operator", is_staff=True, is_superuser=True)
    browser = Client()
    browser.force_login(operator)
    assert clubs.club.name in browser.get("/admin/maintenance/collection/").content.decode()


def test_the_first_page_names_the_clubs_of_who_is_signed_in(clubs):
    browser = Client()
    browser.force_login(clubs.keeper.account)
    assert clubs.club.name in browser.get("/").content.decode()


def test_whoever_founds_a_collection_sees_it_at_once(clubs):
    founder = Caller(Account.objects.create(username="founder"))
    answer = founder.post("collections", {"name": "Corve Motor Club"})
    assert answer.status_code == 201, answer.content


def test_the_check_warns_of_a_role_that_no_policy_holds(db):
    (warning,) = second_lock_holds(databases=["default"])
    assert "superuser" in warning.msg
    with as_ordinary_role():
        assert second_lock_holds(databases=["default"]) == []
