import datetime
import re

import pytest
from django.apps import apps
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from maintenance import models
from maintenance.admin.pages import Checked
from maintenance.services.recompute import recompute_vehicles
from tests.api.test_access import furnished
from tests.factories import (
    AccessTokenFactory,
    AccountFactory,
    CollectionFactory,
    ComponentFactory,
    DepartureFactory,
    EntryFactory,
    IntervalRuleFactory,
    MemberFactory,
    OdometerReadingFactory,
    PaperFactory,
    SpecificationLineFactory,
    VehicleFactory,
)
from tests.factories_of_members import PartOfferFactory

pytestmark = pytest.mark.django_db

EVIDENCE = [
    models.LayUp,
    models.OdometerReading,
    models.OdometerChange,
    models.ServiceEvent,
    models.Entry,
    models.Measurement,
    models.CarriedOver,
    models.Inspection,
    models.Finding,
    models.DueItem,
]


@pytest.fixture
def operator():
    browser = Client()
    browser.force_login(AccountFactory(is_staff=True, is_superuser=True))
    return browser


@pytest.fixture
def car():
    return VehicleFactory()


def page(model, name, *args):
    return reverse(f"admin:maintenance_{model._meta.model_name}_{name}", args=args)


def test_every_model_of_the_nouns_has_its_pages():
    nouns = {model.__name__ for model in apps.get_app_config("maintenance").get_models()}
    known = {model.__name__ for model in admin.site._registry}
    without = (set(models.__all__) & nouns) - known
    # Shown once to its owner, and to nobody after; and what clients alone are told.
    assert without == {"WebhookSecret", "KeptAnswer", "Change"}


def test_every_table_is_called_by_a_plural_that_is_one():
    plurals = [str(model._meta.verbose_name_plural) for model in admin.site._registry]
    assert [name for name in plurals if re.search("[^aeiou]ys$|ss$| (in|over|up)s$", name)] == []


def test_every_rule_that_a_form_can_break_is_told_in_words():
    forms = [page for page in admin.site._registry.values() if isinstance(page, Checked)]
    rules = [rule for page in forms for rule in page.model._meta.constraints]
    raw = [rule.name for rule in rules if "%(name)s" in str(rule.violation_error_message)]
    assert len(forms) == 9
    assert raw == []


@pytest.mark.parametrize("model", EVIDENCE, ids=lambda model: model.__name__)
def test_evidence_is_shown_and_never_changed_by_hand(operator, car, model):
    furnished(car)
    row = model.objects.first()
    assert operator.get(page(model, "changelist")).status_code == 200
    assert operator.get(page(model, "change", row.pk)).status_code == 200
    assert operator.post(page(model, "change", row.pk), {}).status_code == 403
    assert operator.get(page(model, "add")).status_code == 403
    assert operator.post(page(model, "delete", row.pk), {"post": "yes"}).status_code == 403
    assert model.objects.filter(pk=row.pk).exists()


def form_of(operator, row, **changes):
    """Return what the browser would send back for a description, with the changes made."""
    shown = operator.get(page(type(row), "change", row.pk))
    form = shown.context["adminform"].form
    sent = {name: form.initial.get(name) for name in form.fields}
    return {name: "" if value is None else value for name, value in (sent | changes).items()}


def test_a_car_put_right_by_the_operator_is_computed_anew(operator, car, today):
    fluid = ComponentFactory(vehicle=car, kind="brake-fluid")
    EntryFactory(event__vehicle=car, component=fluid)
    recompute_vehicles(vehicles=[car], on=today)
    before = models.DueItem.objects.filter(vehicle=car, governed_by="inspection").count()
    form = form_of(operator, car, inspection_regime="", model="Egret")
    assert operator.post(page(models.Vehicle, "change", car.pk), form).status_code == 302
    car.refresh_from_db()
    assert (car.model, car.version) == ("Egret", 2)
    after = models.DueItem.objects.filter(vehicle=car, governed_by="inspection").count()
    assert (before, after) == (1, 0)


def faults_of(operator, row, **changes):
    """Return what the form says at each field when a description is put wrong, and save nothing."""
    answer = operator.post(page(type(row), "change", row.pk), form_of(operator, row, **changes))
    assert answer.status_code == 200
    row.refresh_from_db()
    assert row.version == 1
    return {name: " ".join(said) for name, said in answer.context["adminform"].errors.items()}


def faults_of_new(operator, model, **filled):
    answer = operator.post(page(model, "add"), filled)
    assert answer.status_code == 200
    return {name: " ".join(said) for name, said in answer.context["adminform"].errors.items()}


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"inspection_regime": "gbr"}, "inspection_regime", "'gb'"),
        ({"built_on": "2999-01-01"}, "built_on", "after today"),
        ({"season_from_month": "4"}, "season_to_month", "is missing"),
        ({"registration": "TAKEN 1"}, "registration", "already"),
        ({"odometer_unit": "mi"}, "odometer_unit", "stays km"),
        ({"odometer_digits": "6"}, "odometer_digits", "passing of the last digit"),
    ],
)
def test_a_car_is_not_described_as_the_service_would_refuse_it(operator, car, changes, field, said):
    VehicleFactory(registration="Taken 1", collection=car.collection)
    OdometerReadingFactory(vehicle=car, on=datetime.date(2026, 1, 1), value=99900)
    OdometerReadingFactory(vehicle=car, on=datetime.date(2026, 7, 1), value=1500)
    assert said in faults_of(operator, car, **changes)[field]


def test_a_keeper_of_another_collection_is_refused_at_the_field(operator, car):
    stranger = MemberFactory()
    assert set(faults_of(operator, car, keeper=stranger.pk)) == {"keeper"}


def test_a_car_that_has_left_is_not_described_anew(operator, car):
    DepartureFactory(vehicle=car)
    assert "left the collection" in faults_of(operator, car, model="Egret")["__all__"]


def test_the_kind_of_a_component_stays(operator, car):
    battery = ComponentFactory(vehicle=car, kind="battery")
    form = form_of(operator, battery, kind="tyre", position="left")
    assert operator.post(page(models.Component, "change", battery.pk), form).status_code == 302
    battery.refresh_from_db()
    assert (battery.kind, battery.position) == ("battery", "left")


def test_a_component_of_an_unknown_kind_is_refused_with_the_nearest_known_word(operator, car):
    filled = {"collection": car.collection_id, "vehicle": car.pk, "kind": "batery"}
    assert "'battery'" in faults_of_new(operator, models.Component, **filled)["kind"]


def test_a_component_is_added_by_the_operator(operator, car):
    filled = {"collection": car.collection_id, "vehicle": car.pk, "kind": "battery"}
    assert operator.post(page(models.Component, "add"), filled).status_code == 302
    assert models.DueItem.objects.filter(component__kind="battery").exists()


def test_a_component_does_not_become_a_part_of_another_car(operator, car):
    other = ComponentFactory(kind="suspension-arm")
    boot = ComponentFactory(vehicle=car, kind="ball-joint-boot")
    assert set(faults_of(operator, boot, assembly=other.pk)) == {"assembly"}


@pytest.mark.parametrize("model", [models.Component, models.Paper, models.SpecificationLine])
def test_what_is_added_to_a_car_is_of_its_collection(operator, car, model):
    usual = {"kind": "insurance", "until": "2027-01-01", "item": "gap", "value": "0.4"}
    if model is models.Component:
        usual["kind"] = "battery"
    filled = usual | {"collection": CollectionFactory().pk, "vehicle": car.pk}
    assert set(faults_of_new(operator, model, **filled)) == {"vehicle"}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"kind": "batery"}, "kind"),
        ({"factor_dry": "0.5"}, "factor_dry"),
        ({"wear_minimum": "2"}, "wear_quantity"),
        ({"wear_quantity": "thickness", "wear_unit": "mm", "wear_minimum": "2"}, "wear_quantity"),
        ({"model": "Egret", "make": ""}, "make"),
    ],
)
def test_an_interval_rule_that_would_govern_nothing_or_lengthen_a_limit_is_refused(
    operator, changes, field
):
    assert field in faults_of(operator, IntervalRuleFactory(), **changes)


def test_papers_and_lines_that_stand_twice_are_refused_at_the_field(operator, car):
    paper, other = PaperFactory(vehicle=car), PaperFactory(vehicle=car, number="2")
    assert "already" in faults_of(operator, other, number=paper.number)["until"]
    SpecificationLineFactory(vehicle=car, item="gap")
    line = SpecificationLineFactory(vehicle=car, item="gap of the plugs")
    assert "already" in faults_of(operator, line, item="gap")["item"]


def test_the_last_secretary_is_neither_let_go_nor_given_another_role(operator):
    last = MemberFactory(role="secretary")
    assert "last secretary" in faults_of(operator, last, role="viewer")["role"]
    assert operator.post(page(models.Member, "delete", last.pk), {"post": "yes"}).status_code == 403


def test_a_member_let_go_leaves_their_cars(operator, car):
    car.keeper = MemberFactory(collection=car.collection, role="keeper")
    car.save()
    MemberFactory(collection=car.collection, role="secretary")
    gone = page(models.Member, "delete", car.keeper.pk)
    assert operator.post(gone, {"post": "yes"}).status_code == 302
    car.refresh_from_db()
    assert (car.keeper, car.version) == (None, 2)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"channels": '["pigeon"]'}, "channels"),
        ({"lead_days": '["soon"]'}, "lead_days"),
        ({"lead_days": "[9000]"}, "lead_days"),
        ({"whole_collection": "on"}, "whole_collection"),
    ],
)
def test_a_preference_that_could_not_be_kept_is_refused_at_the_field(operator, changes, field):
    member = MemberFactory(role="keeper")
    preference = models.ReminderPreference.objects.create(
        member=member, collection=member.collection
    )
    usual = {"channels": '["email"]', "lead_days": "[30, 0]", "whole_collection": ""}
    assert set(faults_of(operator, preference, **usual | changes)) == {field}


def test_an_offer_for_no_known_kind_is_refused_at_the_field(operator):
    assert "'battery'" in faults_of(operator, PartOfferFactory(), kind="batery")["kind"]


def test_a_time_zone_that_does_not_exist_is_refused_at_the_field(operator):
    assert "time_zone" in faults_of(operator, CollectionFactory(), time_zone="Europe/Lisboa")


def test_a_form_that_was_open_while_the_car_was_handed_over_does_not_bring_it_back(operator, car):
    form = form_of(operator, car, model="Egret")
    form["collection"] = car.collection_id
    elsewhere = CollectionFactory()
    models.Vehicle.objects.update(collection=elsewhere)
    assert operator.post(page(models.Vehicle, "change", car.pk), form).status_code == 302
    car.refresh_from_db()
    assert (car.model, car.collection) == ("Egret", elsewhere)


def test_a_paper_deleted_by_the_operator_takes_its_due_item_along(operator, car, today):
    paper = PaperFactory(vehicle=car)
    recompute_vehicles(vehicles=[car], on=today)
    assert models.DueItem.objects.filter(paper=paper).exists()
    operator.post(page(models.Paper, "delete", paper.pk), {"post": "yes"})
    assert not models.Paper.objects.exists()
    assert not models.DueItem.objects.filter(governed_by="expiry").exists()


def test_a_car_with_a_history_is_not_deleted(operator, car):
    OdometerReadingFactory(vehicle=car)
    answer = operator.post(page(models.Vehicle, "delete", car.pk), {"post": "yes"})
    assert answer.status_code == 403


def test_the_digest_of_a_token_is_not_shown(operator):
    token = AccessTokenFactory()
    shown = operator.get(page(models.AccessToken, "change", token.pk)).content.decode()
    assert token.name in shown
    assert token.digest not in shown


def test_a_token_is_revoked_from_the_list(operator):
    token = AccessTokenFactory()
    chosen = {"action": "revoke", "_selected_action": [str(token.pk)]}
    operator.post(page(models.AccessToken, "changelist"), chosen)
    token.refresh_from_db()
    assert token.revoked_at is not None


def test_a_member_who_does_not_run_the_service_has_no_pages(db):
    browser = Client()
    browser.force_login(MemberFactory().account)
    assert browser.get(page(models.Vehicle, "changelist")).status_code == 302
