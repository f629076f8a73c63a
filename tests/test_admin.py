import pytest
from django.apps import apps
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from maintenance import models
from maintenance.services.recompute import recompute_vehicles
from tests.api.test_access import furnished
from tests.factories import (
    AccessTokenFactory,
    AccountFactory,
    CollectionFactory,
    ComponentFactory,
    EntryFactory,
    MemberFactory,
    OdometerReadingFactory,
    PaperFactory,
    VehicleFactory,
)

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
