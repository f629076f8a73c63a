"""An inspection leaves room for what is measured, with unit and limit."""

import pytest

from tests.factories import IntervalRuleFactory
from tests.services.plans.cars import fitted, laid_up_car, planned

pytestmark = pytest.mark.django_db


def fields(kind, **own):
    car = laid_up_car()
    fitted(car, kind, "front")
    if own:
        said = {"task": "renew", "months": None, "distance_km": None} | own
        IntervalRuleFactory(collection=car.collection, kind=kind, **said)
    return planned(car).jobs[f"inspect {kind} front"].sheet_fields


def test_linings_have_a_line_for_their_thickness_and_its_limit():
    assert fields("brake-pads") == ["found", "lining thickness [mm], at least 1.5"]


def test_the_limit_is_that_of_the_rule_that_holds_for_the_car():
    own = {"wear_quantity": "lining_thickness", "wear_unit": "mm", "wear_minimum": 3}
    assert fields("brake-pads", **own)[-1] == "lining thickness [mm], at least 3"


def test_discs_without_a_rule_of_their_own_have_a_line_for_the_makers_limit():
    assert fields("brake-discs") == ["found", "least thickness, stamped on the disc [mm]"]


def test_what_is_not_measured_has_a_line_for_what_was_found():
    assert fields("exhaust") == ["found"]


def test_sentences_of_one_reason_follow_each_other_cleanly():
    car = laid_up_car()
    fitted(car, "brake-pads", "front")
    reason = planned(car).jobs["inspect brake-pads front"].reason
    assert "To be measured." in reason and ".;" not in reason
