"""A person is erased, and the evidence stands: what was done, when and on which car."""

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction

from maintenance.migrations._evidence import TEXTS
from maintenance.models import (
    AccessToken,
    Entry,
    HistoryLink,
    Invitation,
    Member,
    PlanPerson,
    ServiceEvent,
    TextErasure,
    Vehicle,
)
from maintenance.models.base import Sealed
from maintenance.services.chain import digest, parts_of, tree
from maintenance.services.erasure import erase_account, erase_member
from maintenance.services.evidence import withdraw
from maintenance.services.invitations import invite
from maintenance.services.service_events import correct_service_event, record_service_event
from maintenance.services.tokens import issue_token
from maintenance.services.transfers import accept_elsewhere, offer_elsewhere
from maintenance.services.undo import undo
from maintenance.services.verify_history import verify_history
from tests.factories import (
    AccountFactory,
    ComponentFactory,
    MemberFactory,
    RecommissioningPlanFactory,
    VehicleFactory,
)
from tests.services.asking import entry, event, refused
from tests.unguarded import unguarded

pytestmark = pytest.mark.django_db

NAME = "Ada Merrow"
NOTE = "ada merrow bled the brakes; nipples 9 Nm."


@pytest.fixture
def secretary():
    return MemberFactory(role="secretary")


@pytest.fixture
def ada(secretary):
    account = AccountFactory(
        username="adamer", first_name="Ada", last_name="Merrow", email="ada@mere.example"
    )
    return MemberFactory(collection=secretary.collection, account=account, name=NAME, role="keeper")


@pytest.fixture
def car(ada):
    car = VehicleFactory(collection=ada.collection, keeper=ada)
    ComponentFactory(vehicle=car)
    return car


@pytest.fixture
def work(car, ada, when):
    """A service event by a member, who is named in it three times."""
    draft = event(entry(note=NOTE), done_by=NAME, note="Adamant pads. With Ada Merrow.")
    return record_service_event(vehicle=car, draft=draft, **{**when, "by": ada.account})


@pytest.fixture
def erase(ada, when):
    def erased(member=ada, **said):
        asked = {"confirm": member.name, **when, "by": member.account, **said}
        return erase_member(member=member, **asked)

    return erased


def verified(car):
    [found] = verify_history([car])
    return found


def digests(car):
    return list(HistoryLink.objects.filter(vehicle=car).order_by("sequence").values_list("digest"))


def test_texts_no_longer_name_the_person_and_keep_what_was_done(work, erase):
    assert erase().texts == 3
    work.refresh_from_db()
    assert work.done_by == "former member 1"
    assert work.note == "Adamant pads. With former member 1."
    assert Entry.objects.get().note == "former member 1 bled the brakes; nipples 9 Nm."


def test_the_history_holds_and_no_digest_has_changed(work, car, erase):
    before = digests(car)
    erase()
    assert digests(car)[: len(before)] == before
    found = verified(car)
    assert (found.faults, found.erased, found.length) == ([], 3, len(before) + 3)


def test_nothing_in_the_database_names_the_person_any_more(work, car, ada, erase, when, now):
    issue_token(
        account=ada.account, name="x", scope="read", expires_at=now.replace(year=2027), at=now
    )
    invite(collection=ada.collection, email="ada@mere.example", role="viewer", by=None, at=now)
    plan = RecommissioningPlanFactory(vehicle=car, result={"labour": [{"person": NAME}]})
    PlanPerson.objects.create(
        plan=plan, collection=plan.collection, sequence=0, name=NAME, hours={}
    )
    erase()
    kept = repr(
        [list(model._default_manager.values_list()) for model in apps.get_models()]
    ).casefold()
    for word in ("merrow", "ada@mere.example", "adamer'"):
        assert word not in kept


def test_the_account_opens_nothing_any_more(ada, erase):
    erase()
    account = ada.account
    account.refresh_from_db()
    assert (account.is_active, account.has_usable_password()) == (False, False)
    assert not AccessToken.objects.exists() and not Invitation.objects.exists()
    assert not Member.objects.filter(account=account).exists()


def test_cars_stay_and_records_stay_with_who_made_them(work, car, ada, erase):
    erase()
    car.refresh_from_db()
    work.refresh_from_db()
    assert (car.keeper, work.recorded_by_id) == (None, ada.account_id)


def test_what_a_correction_repeats_is_erased_in_both(work, car, erase, when):
    draft = event(entry(), done_by=NAME)
    correct_service_event(event=work, draft=draft, reason="Not by Ada Merrow's hand.", **when)
    assert erase().texts == 5
    assert verified(car).faults == []


def test_a_record_is_withdrawn_and_put_back_after_an_erasure(work, car, erase, when):
    erase()
    work.refresh_from_db()
    gone = withdraw(record=work, reason="another car", **when)
    undo(record=gone, reason="this one", **when)
    assert verified(car).faults == []
    assert ServiceEvent.objects.filter(done_by="former member 1").count() == 3


def test_two_people_are_erased_from_one_text_and_the_first_erasure_names_neither(
    car, ada, secretary, erase, when
):
    bo = MemberFactory(collection=ada.collection, name="Bo Corve", role="keeper")
    draft = event(entry(), note="Ada Merrow and Bo Corve.")
    record_service_event(vehicle=car, draft=draft, **when)
    erase()
    erase(bo)
    assert ServiceEvent.objects.get().note == "former member 1 and former member 2."
    assert "Bo" not in repr(list(TextErasure.objects.values_list("now_reads")))
    assert verified(car).faults == []


def test_a_text_changed_is_told_from_a_text_erased(work, car, erase):
    erase()
    for change in (
        {"note": "With somebody else."},
        {"note": "With Ada Merrow.", "salts": {"note": "00" * 16}},
    ):
        with transaction.atomic():
            with unguarded():
                ServiceEvent.objects.update(**change)
            assert [fault.what for fault in verified(car).faults] == ["changed"]
            transaction.set_rollback(True)
        assert verified(car).faults == []


def test_a_text_emptied_without_an_erasure_is_a_change(work, car):
    with unguarded():
        ServiceEvent.objects.update(done_by="former member 1", salts={})
    assert [fault.what for fault in verified(car).faults] == ["changed"]


def test_an_erasure_put_in_past_the_services_is_named(work, car, now):
    TextErasure.objects.create(
        vehicle=car,
        collection=car.collection,
        recorded_at=now,
        table="serviceevent",
        erased_in=work.pk,
        field="note",
        fingerprint="0" * 64,
        now_reads="Never done.",
    )
    ServiceEvent.objects.update(note="Never done.", salts={})
    assert {fault.what for fault in verified(car).faults} == {"inserted", "changed"}


@pytest.mark.parametrize(
    "change", [{"note": "Never done."}, {"cost": 1, "currency": "EUR"}, {"done_by": "somebody"}]
)
def test_the_database_changes_a_text_only_as_an_erasure_says(change, work, car, now):
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        ServiceEvent.objects.update(note="With a former member.", salts={})
    TextErasure.objects.create(
        vehicle=car,
        collection=car.collection,
        recorded_at=now,
        table="serviceevent",
        erased_in=work.pk,
        field="note",
        fingerprint="0" * 64,
        now_reads="With a former member.",
    )
    with pytest.raises(IntegrityError, match="evidence"), transaction.atomic():
        ServiceEvent.objects.update(**change)
    assert ServiceEvent.objects.update(note="With a former member.", salts={}) == 1


def test_the_guards_know_every_text_that_may_name_somebody():
    sealed = [model for model in apps.get_models() if issubclass(model, Sealed)]
    assert {text for model in sealed for text in model.TEXTS} == set(TEXTS)


def test_records_from_before_fingerprints_hold_and_are_said_to_be_left(work, car, erase):
    _as_before_fingerprints(work)
    assert verified(car).faults == []
    assert (erase().left, verified(car).faults) == (3, [])
    work.refresh_from_db()
    assert work.done_by == NAME


def _as_before_fingerprints(work):
    """Put the only record of a car in the form in which texts went into the digest themselves."""
    with unguarded():
        ServiceEvent.objects.update(salts={})
        Entry.objects.update(salts={})
        work.refresh_from_db()
        said = tree(work, parts_of([work]))
        assert said["done_by"] == NAME
        HistoryLink.objects.update(digest=digest("", said))


def test_the_name_has_to_be_typed(erase, work):
    problems = refused(erase, confirm="ada merrow")
    assert set(problems) == {"/confirm"}
    work.refresh_from_db()
    assert work.done_by == NAME


def test_the_last_secretary_is_not_erased_while_there_are_other_members(ada, secretary, erase):
    assert "last secretary" in refused(erase, member=secretary)[""]


def test_who_is_alone_in_a_collection_may_always_be_erased(when):
    alone = MemberFactory(role="secretary", name="Cy Mere")
    car = VehicleFactory(collection=alone.collection, keeper=alone)
    erase_member(member=alone, confirm="Cy Mere", **{**when, "by": alone.account})
    assert (Member.objects.count(), Vehicle.objects.get(pk=car.pk).keeper) == (0, None)


def test_a_secretary_erases_what_the_collection_holds_and_no_account_that_others_know(
    work, car, ada, secretary, erase
):
    elsewhere = MemberFactory(account=ada.account, name=NAME)
    erased = erase(by=secretary.account)
    assert (erased.texts, erased.account) == (3, False)
    elsewhere.refresh_from_db()
    assert (elsewhere.name, elsewhere.account.email) == (NAME, "ada@mere.example")


def test_a_secretary_erases_the_account_of_who_is_a_member_here_alone(ada, secretary, erase):
    assert erase(by=secretary.account).account
    ada.account.refresh_from_db()
    assert ada.account.username == "former member 1"


def test_what_a_person_recorded_on_a_car_that_went_elsewhere_is_erased_there(
    work, car, ada, secretary, erase, now
):
    taker = MemberFactory(role="secretary")
    _, code = offer_elsewhere(vehicle=car, by=secretary.account, at=now)
    accept_elsewhere(code=code, to=taker.collection, keeper=None, at=now)
    assert erase().texts == 3
    assert verified(Vehicle.objects.get(pk=car.pk)).faults == []


def test_a_history_with_erasures_goes_to_another_collection(work, car, secretary, erase, now):
    erase()
    taker = MemberFactory(role="secretary")
    _, code = offer_elsewhere(vehicle=car, by=secretary.account, at=now)
    accept_elsewhere(code=code, to=taker.collection, keeper=None, at=now)
    assert set(TextErasure.objects.values_list("collection", flat=True)) == {taker.collection_id}


def test_names_are_found_whole_and_in_any_case(car, erase, when):
    eda = MemberFactory(collection=car.collection, name="Éda", role="keeper")
    draft = event(entry(), done_by="ÉDA", note="Édas, éda-made; Fréda.")
    record_service_event(vehicle=car, draft=draft, **when)
    erase(eda)
    done = ServiceEvent.objects.get()
    assert (done.done_by, done.note) == (
        "former member 1",
        "Édas, former member 1-made; Fréda.",
    )


def test_somebody_of_the_same_name_in_another_collection_keeps_it(car, erase, when):
    other = RecommissioningPlanFactory()
    person = PlanPerson.objects.create(
        plan=other, collection=other.collection, sequence=0, name=NAME, hours={}
    )
    ComponentFactory(vehicle=other.vehicle)
    namesake = event(entry(), done_by=NAME)
    work = record_service_event(vehicle=other.vehicle, draft=namesake, **when)
    erase()
    for row in (person, work):
        row.refresh_from_db()
    assert (person.name, work.done_by) == (NAME, NAME)


def test_an_operator_erases_an_account_without_memberships(when):
    account = AccountFactory()
    assert erase_account(account=account, **when).account
    account.refresh_from_db()
    assert (account.username, account.email) == ("former member 1", "")
