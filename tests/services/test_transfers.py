"""A car goes to another keeper, or with its whole history to another collection."""

import datetime

import pytest
from django.apps import apps
from django.core import mail

from maintenance.models import (
    DueItem,
    ExportJob,
    KeptIn,
    LayUp,
    Letter,
    PartOffer,
    Reminder,
    ServiceEvent,
    StoreClimateRecord,
    Transfer,
    Vehicle,
    WebhookDelivery,
)
from maintenance.models.base import TenantRow
from maintenance.queries.access import sight_of
from maintenance.queries.history_heads import heads_of
from maintenance.reminders.channels.webhook_deliveries import queue
from maintenance.reminders.deliver import deliver
from maintenance.services.calendar_feeds import issue_feed
from maintenance.services.departures import leave
from maintenance.services.erasure import erase_account
from maintenance.services.file_jobs import request_export
from maintenance.services.lay_ups import lay_up
from maintenance.services.members import remove_member
from maintenance.services.service_events import record_service_event
from maintenance.services.store_climates import import_climate, keep_in_store
from maintenance.services.transfers import (
    accept_elsewhere,
    confirm,
    end_offer,
    offer_elsewhere,
    offer_to_keeper,
)
from maintenance.services.verify_history import verify_history
from maintenance.services.webhooks import add_webhook
from tests.factories import (
    ComponentFactory,
    IntervalRuleFactory,
    MemberFactory,
    PaperFactory,
    PlanPartFactory,
    SpecificationLineFactory,
    VehicleFactory,
)
from tests.services.asking import entry, event, refused, standing
from tests.unguarded import unguarded

pytestmark = pytest.mark.django_db


@pytest.fixture
def officer():
    return MemberFactory(role="technical_officer")


@pytest.fixture
def taker():
    return MemberFactory(role="secretary")


@pytest.fixture
def keepers(officer):
    return [MemberFactory(collection=officer.collection, role="keeper") for _ in range(2)]


@pytest.fixture
def car(officer, when):
    car = VehicleFactory(collection=officer.collection)
    ComponentFactory(vehicle=car)
    record_service_event(vehicle=car, draft=event(entry(), on="2025-06-03"), **when)
    lay_up(vehicle=car, draft=standing("2025-11-01", "2026-04-01", "damp"), **when)
    return car


@pytest.fixture
def go(car, officer, taker, now):
    """Offer the car elsewhere and take it there."""

    def gone(**said):
        _, code = offer_elsewhere(vehicle=car, by=officer.account, at=now)
        return accept_elsewhere(code=code, to=taker.collection, at=now, **{"keeper": None, **said})

    return gone


def fluid(car):
    return DueItem.objects.get(vehicle=car, kind="brake-fluid", task="renew")


def test_what_an_officer_offers_the_new_keeper_confirms(car, officer, keepers, now, today):
    offer = offer_to_keeper(vehicle=car, to=keepers[0], by=officer.account, at=now)
    done = confirm(transfer=offer, by=keepers[0].account, at=now, today=today)
    car.refresh_from_db()
    assert (done.state, done.on, car.keeper, car.version) == ("done", today, keepers[0], 2)


def test_what_a_keeper_offers_waits_for_an_officer_as_well(car, officer, keepers, now, today):
    Vehicle.objects.update(keeper=keepers[0])
    offer = offer_to_keeper(vehicle=car, to=keepers[1], by=keepers[0].account, at=now)
    assert confirm(transfer=offer, by=keepers[1].account, at=now, today=today).state == "offered"
    assert confirm(transfer=offer, by=officer.account, at=now, today=today).state == "done"
    assert Vehicle.objects.get().keeper == keepers[1]


def test_nobody_says_yes_for_another(car, officer, keepers, now, today):
    offer = offer_to_keeper(vehicle=car, to=keepers[0], by=officer.account, at=now)
    for other in (keepers[1], officer):
        assert refused(confirm, transfer=offer, by=other.account, at=now, today=today)


def test_a_keeper_who_left_gets_no_car(car, officer, keepers, now, today):
    offer = offer_to_keeper(vehicle=car, to=keepers[0], by=officer.account, at=now)
    keepers[0].delete()
    problems = refused(confirm, transfer=offer, by=officer.account, at=now, today=today)
    assert "has left" in problems[""]


def test_a_car_is_on_offer_once(car, officer, keepers, now):
    offer_to_keeper(vehicle=car, to=keepers[0], by=officer.account, at=now)
    problems = refused(offer_elsewhere, vehicle=car, by=officer.account, at=now)
    assert set(problems) == {"/vehicle"}
    later = now + datetime.timedelta(days=31)
    assert offer_elsewhere(vehicle=car, by=officer.account, at=later)
    assert Transfer.objects.filter(state="expired").count() == 1


def test_what_can_not_be_an_offer_is_refused_by_its_field(car, officer, keepers, now):
    offer = {"vehicle": car, "by": officer.account, "at": now}
    Vehicle.objects.update(keeper=keepers[0])
    assert set(refused(offer_to_keeper, **offer, to=keepers[0])) == {"/to_keeper"}
    assert set(refused(offer_to_keeper, **offer, to=MemberFactory())) == {"/to_keeper"}
    assert set(refused(offer_elsewhere, **offer, email="corve")) == {"/email"}
    assert set(refused(offer_elsewhere, **offer, days=91)) == {"/days"}


def test_a_car_that_has_left_is_not_offered(car, officer, when, now):
    leave(vehicle=car, on=when["today"], how="sold", **when)
    assert "closed" in refused(offer_elsewhere, vehicle=car, by=officer.account, at=now)[""]


def test_the_history_goes_whole_and_holds_before_and_after(car, go):
    head = heads_of([car.pk])[car.pk]
    transfer, taken = go()
    assert (transfer.history_length, transfer.history_head) == head == heads_of([car.pk])[car.pk]
    [verified] = verify_history([taken])
    assert (verified.faults, verified.length) == ([], 2)


def test_no_digest_changes_on_the_way(car, go):
    before = list(car.history_links.order_by("sequence").values_list("digest", flat=True))
    go()
    assert list(car.history_links.order_by("sequence").values_list("digest", flat=True)) == before


#: Tables with rows of one car, and what becomes of them.
GO_ALONG = {
    *("Arrival", "Attachment", "Component", "Departure", "DueItem", "HistoryLink", "Inspection"),
    "KeptIn",
    *("IntervalRule", "LayUp", "OdometerChange", "OdometerReading", "Paper", "Postponement"),
    *("ServiceEvent", "SpecificationLine", "TextErasure"),
}
END_THERE = {"CalendarEntry", "CalendarFeed", "RecommissioningPlan", "Reminder", "Transfer"}


def _of_cars():
    return {
        model
        for model in apps.get_app_config("maintenance").get_models()
        if issubclass(model, TenantRow)
        and any(field.related_model is Vehicle for field in model._meta.concrete_fields)
    }


def test_it_is_decided_of_every_table_of_cars_whether_it_goes_along():
    assert {model.__name__ for model in _of_cars()} == GO_ALONG | END_THERE


def test_all_that_is_the_cars_own_goes_along_and_nothing_of_another_car(
    car, officer, taker, go, now, today
):
    for one in (car, other := VehicleFactory(collection=car.collection)):
        PaperFactory(vehicle=one)
        SpecificationLineFactory(vehicle=one)
        IntervalRuleFactory(vehicle=one, collection=one.collection)
        PlanPartFactory(job__plan__vehicle=one)
    feed = {"name": "one car", "scope": "vehicle", "vehicle": car}
    issue_feed(member=officer, given=feed, at=now, today=today)
    go()
    for table in _of_cars():
        of_it = table._default_manager.filter(vehicle=car)
        assert set(of_it.values_list("collection", flat=True)) <= {taker.collection_id}, table
        assert of_it.exists() == (table.__name__ in GO_ALONG & _FILLED), table
        of_other = table._default_manager.filter(vehicle=other)
        assert taker.collection_id not in of_other.values_list("collection", flat=True), table


_FILLED = {
    *("Component", "DueItem", "HistoryLink", "IntervalRule", "LayUp", "Paper"),
    *("ServiceEvent", "SpecificationLine"),
}


def test_what_falls_due_follows_the_rules_of_the_new_collection(car, officer, taker, go):
    IntervalRuleFactory(collection=taker.collection, name="fluid every year", months=12)
    go()
    assert fluid(car).rule == "fluid every year"


def test_a_rule_that_names_the_car_goes_with_it(car, officer, taker, go):
    rule = IntervalRuleFactory(
        collection=car.collection, vehicle=car, name="fluid of this car", months=6
    )
    IntervalRuleFactory(collection=taker.collection, name="fluid every year", months=12)
    go()
    rule.refresh_from_db()
    assert (fluid(car).rule, rule.collection) == ("fluid of this car", taker.collection)


def test_rules_and_offers_of_parts_of_the_old_collection_stay_there(car, officer, go):
    rule = IntervalRuleFactory(collection=car.collection, kind="coolant")
    offer = PartOffer.objects.create(
        collection=car.collection, kind="brake-fluid", name="DOT 4", price=9, currency="EUR"
    )
    go()
    for row in (rule, offer):
        row.refresh_from_db()
        assert row.collection == officer.collection


def test_the_climate_it_was_stored_in_goes_on_counting(car, officer, taker, go, today):
    before = _kept_in_a_measured_store(car, today)
    go()
    kept = KeptIn.objects.get(vehicle=car)
    assert fluid(car).due_on == before
    assert (kept.collection, kept.store.collection) == (taker.collection, taker.collection)
    assert kept.store.store == f"Barn, {officer.collection.name}"
    assert kept.to_on == today
    assert StoreClimateRecord.objects.filter(collection=officer.collection).count() == 1


def _kept_in_a_measured_store(car, today):
    """Store the car in a hot damp barn in its lay-up; return when its fluid is due by that."""
    without = fluid(car).due_on
    days = ((datetime.date(2025, 11, 1) + datetime.timedelta(n)) for n in range(151))
    text = "\n".join(["date,°C,%RH", *(f"{day},32,95" for day in days)])
    store, _ = import_climate(
        collection=car.collection, store="Barn", text=text, outdoors=False, today=today
    )
    first = datetime.date(2025, 10, 1)
    keep_in_store(vehicle=car, store=store, from_on=first, to_on=None, today=today)
    assert fluid(car).due_on != without
    return fluid(car).due_on


def test_a_second_car_from_the_same_store_finds_its_climate_there(car, officer, taker, now, today):
    second = VehicleFactory(collection=car.collection)
    _kept_in_a_measured_store(car, today)
    store = StoreClimateRecord.objects.get()
    for one in (car, second):
        if one is second:
            first = datetime.date(2025, 10, 1)
            keep_in_store(vehicle=one, store=store, from_on=first, to_on=None, today=today)
        _, code = offer_elsewhere(vehicle=one, by=officer.account, at=now)
        accept_elsewhere(code=code, to=taker.collection, keeper=None, at=now)
    assert StoreClimateRecord.objects.filter(collection=taker.collection).count() == 1


def test_a_registration_that_the_new_collection_has_is_refused_and_nothing_moves(car, taker, go):
    VehicleFactory(collection=taker.collection, registration=car.registration)
    problems = refused(go)
    assert set(problems) == {"/collection"}
    assert Transfer.objects.get().state == "offered"
    assert set(LayUp.objects.values_list("collection", flat=True)) == {car.collection_id}


def test_a_history_that_does_not_hold_goes_nowhere(car, go):
    with unguarded():
        LayUp.objects.update(storage="heated")
    assert "does not hold" in refused(go)[""]


def test_a_code_works_once_and_unknown_refused_and_expired_ones_are_told_alike(
    car, officer, taker, now
):
    took = {"to": taker.collection, "keeper": None}
    offer, code = offer_elsewhere(vehicle=car, by=officer.account, at=now, days=1)
    later = now + datetime.timedelta(days=1)
    told = [refused(accept_elsewhere, code=code, at=later, **took)]
    end_offer(transfer=offer, state=Transfer.State.WITHDRAWN, at=now)
    told.append(refused(accept_elsewhere, code=code, at=now, **took))
    told.append(refused(accept_elsewhere, code="idlecar_nothing", at=now, **took))
    _, code = offer_elsewhere(vehicle=car, by=officer.account, at=now)
    accept_elsewhere(code=code, at=now, **took)
    told.append(refused(accept_elsewhere, code=code, at=now, **took))
    assert told == [told[0]] * 4


def test_the_code_stands_nowhere_in_the_database_and_is_mailed_where_asked(
    car, officer, now, settings
):
    settings.EMAIL_URL = "smtp://127.0.0.1"
    _, code = offer_elsewhere(vehicle=car, by=officer.account, at=now, email="corve@mere.example")
    deliver(channel="email", clock=lambda: now)
    [letter] = mail.outbox
    assert code in letter.body and car.registration in letter.subject
    assert code not in repr([*Transfer.objects.values_list(), *Letter.objects.values_list()])


def test_a_letter_about_an_offer_that_was_accepted_before_it_went_is_dropped(
    car, officer, taker, now, settings
):
    settings.EMAIL_URL = "smtp://127.0.0.1"
    _, code = offer_elsewhere(vehicle=car, by=officer.account, at=now, email="corve@mere.example")
    accept_elsewhere(code=code, to=taker.collection, keeper=None, at=now)
    done = deliver(channel="email", clock=lambda: now)
    assert (done.sent, done.failed, done.dropped, mail.outbox) == (0, 0, 1, [])
    assert Letter.objects.get().state == "dropped"


@pytest.fixture
def told(car, keepers, now, settings):
    """The letters that go out of an offer to the second keeper, made by the first."""
    settings.EMAIL_URL = "smtp://127.0.0.1"
    Vehicle.objects.update(keeper=keepers[0])
    car.refresh_from_db()
    offer = offer_to_keeper(vehicle=car, to=keepers[1], by=keepers[0].account, at=now)

    def told():
        deliver(channel="email", clock=lambda: now)
        return [(letter.to, letter.subject, letter.body) for letter in mail.outbox]

    told.offer = offer
    return told


def test_the_new_keeper_is_told_of_the_offer_and_where_to_answer(told, car, keepers):
    [(to, subject, body)] = told()
    assert to == [keepers[1].account.email] and car.registration in subject
    address = f"/api/v1/transfers/{told.offer.pk}"
    assert f"{address}/confirmation\n" in body and f"{address}/refusal\n" in body
    assert "An officer of the collection has to say yes as well." in body
    assert keepers[0].account.email not in body


def test_who_has_answered_is_told_no_more(told, keepers, now, today):
    confirm(transfer=told.offer, by=keepers[1].account, at=now, today=today)
    assert told() == []


def test_of_an_offer_withdrawn_nobody_is_told(told, now):
    end_offer(transfer=told.offer, state=Transfer.State.WITHDRAWN, at=now)
    assert told() == []


def test_who_has_left_meanwhile_is_told_nothing(told, keepers, today):
    remove_member(member=keepers[1], today=today)
    assert told() == []


def test_a_member_with_another_address_is_told_there(told, keepers):
    keepers[1].account.email = "moved@mere.example"
    keepers[1].account.save()
    assert [to for to, _, _ in told()] == [["moved@mere.example"]]


def test_no_letter_keeps_the_former_address_of_somebody_erased(told, keepers, now, today):
    keepers[1].account.email = "moved@mere.example"
    keepers[1].account.save()
    erase_account(account=keepers[1].account, by=None, at=now, today=today)
    assert not Letter.objects.exists()
    assert told() == []


def test_a_member_without_an_address_is_offered_a_car_all_the_same(car, officer, keepers, now):
    keepers[1].account.email = ""
    offer_to_keeper(vehicle=car, to=keepers[1], by=officer.account, at=now)
    assert not Letter.objects.exists()


def test_nobody_but_a_member_of_the_new_collection_keeps_it_there(car, keepers, go, taker):
    assert set(refused(go, keeper=keepers[0])) == {"/keeper"}


def test_the_new_keeper_sees_all_and_the_old_members_nothing(car, officer, keepers, taker, go):
    Vehicle.objects.update(keeper=keepers[0])
    keeper = MemberFactory(collection=taker.collection, role="keeper")
    go(keeper=keeper)
    for member, seen in ((keeper, 1), (taker, 1), (officer, 0), (keepers[0], 0)):
        assert sight_of(member.account).vehicles().count() == seen
    assert sight_of(keeper.account).rows("service-events", ServiceEvent.objects.all()).count() == 1


def test_before_it_is_taken_nobody_there_sees_anything_of_it(car, officer, taker, now):
    offer_elsewhere(vehicle=car, by=officer.account, at=now)
    assert sight_of(taker.account).vehicles().count() == 0
    assert sight_of(officer.account).vehicles().count() == 1


def test_nothing_of_the_car_is_still_on_its_way_to_the_old_members(
    car, officer, keepers, go, now, today, settings
):
    settings.WEBHOOK_ALLOWED_HOSTS = ["127.0.0.1"]
    Vehicle.objects.update(keeper=keepers[0])
    add_webhook(member=keepers[0], name="shelf", url="http://127.0.0.1/due", at=now)
    reminder = Reminder.objects.create(
        vehicle=car,
        collection=car.collection,
        item_key="inspection",
        lead_days=7,
        member=keepers[0],
        channel="webhook",
        found_at=now,
    )
    webhook = keepers[0].webhooks.get()
    queue(webhook, event="due_item.reminder", key=f"reminder:{reminder.pk}", data={}, at=now)
    queue(webhook, event="webhook.test", key="test:1", data={}, at=now)
    request_export(member=officer, form="json", at=now)
    go()
    assert not Reminder.objects.exists() and not ExportJob.objects.exists()
    assert [each.key for each in WebhookDelivery.objects.all()] == ["test:1"]


def test_the_old_collection_keeps_the_mark_the_day_and_the_head(car, officer, go, today):
    head = heads_of([car.pk])[car.pk]
    go()
    kept = Transfer.objects.get(collection=officer.collection)
    assert (kept.vehicle, kept.registration, kept.on) == (None, car.registration, today)
    assert kept.history_head == head.digest


def test_a_car_comes_back_the_same_way(car, officer, taker, go, now):
    go()
    car.refresh_from_db()
    _, code = offer_elsewhere(vehicle=car, by=taker.account, at=now)
    accept_elsewhere(code=code, to=officer.collection, keeper=None, at=now)
    assert [each.faults for each in verify_history(Vehicle.objects.all())] == [[]]
    assert sight_of(officer.account).vehicles().count() == 1
