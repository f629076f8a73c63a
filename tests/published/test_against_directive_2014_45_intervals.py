"""Directive 2014/45/EU, Article 5(1)(a): cars after four years, then every two."""

from tests.published.cars_under_inspection import next_inspection


def test_a_car_is_first_inspected_four_years_after_its_first_registration():
    assert next_inspection("eu", "2020-05-13", on="2021-01-01") == "2024-05-13"


def test_a_car_is_inspected_every_two_years_from_then_on():
    due = next_inspection("eu", "2020-05-13", passed=[("2024-05-13", None)], on="2024-06-01")
    assert due in {"2026-05-12", "2026-05-13"}  # the Directive leaves the last day to the state


def test_the_certificates_own_expiry_beats_what_the_directive_reckons():
    passed = [("2024-05-10", "2025-11-30")]
    assert next_inspection("eu", "2020-05-13", passed=passed, on="2024-06-01") == "2025-11-30"
