"""Months and storage, worked out on paper beside each test."""

import pytest

from tests.engine.on_paper import answer, event

TWO_YEARS = {"months": 24}


def test_a_renewal_in_use_lasts_its_calendar_months():
    item = answer(on="2026-11-25", rule=TWO_YEARS, service_events=[event("2025-06-03")])
    assert (item["due_on"], item["governed_by"]) == ("2027-06-03", "time")


def test_days_in_damp_storage_bring_the_day_forward():
    # 730 days allowed; 151 in damp storage count 1.5, that is 75.5 more: 655 days from 3 June
    # 2025 make 730.5, 654 only 729.5.
    lay_up = {"from": "2025-11-01", "to": "2026-04-01", "expected_to": None, "storage": "damp"}
    item = answer(
        on="2026-11-25", rule=TWO_YEARS, service_events=[event("2025-06-03")], lay_ups=[lay_up]
    )
    assert item["due_on"] == "2027-03-20"


def test_a_heated_store_does_not_lengthen_the_limit():
    lay_up = {"from": "2025-11-01", "to": "2026-04-01", "expected_to": None, "storage": "heated"}
    item = answer(
        on="2026-11-25", rule=TWO_YEARS, service_events=[event("2025-06-03")], lay_ups=[lay_up]
    )
    assert item["due_on"] == "2027-06-03"


@pytest.mark.parametrize(
    ("renewed", "months", "due"),
    [
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-08-31", 6, "2025-02-28"),
        ("2023-08-31", 6, "2024-02-29"),
        ("2024-02-29", 48, "2028-02-29"),
    ],
)
def test_a_month_without_the_day_ends_on_its_last(renewed, months, due):
    item = answer(on="2024-09-01", rule={"months": months}, service_events=[event(renewed)])
    assert item["due_on"] == due


def test_a_lay_up_without_a_known_end_goes_on_ageing():
    # Laid up outdoors at 2 a day on the day of the renewal: 730 days are used up in 365.
    lay_up = {"from": "2025-06-03", "to": None, "expected_to": None, "storage": "outdoors"}
    item = answer(
        on="2025-07-01", rule=TWO_YEARS, service_events=[event("2025-06-03")], lay_ups=[lay_up]
    )
    assert item["due_on"] == "2026-06-03"


def test_an_expected_end_that_has_passed_is_not_believed():
    lay_up = {
        "from": "2025-06-03",
        "to": None,
        "expected_to": "2025-07-01",
        "storage": "outdoors",
    }
    item = answer(
        on="2025-07-01", rule=TWO_YEARS, service_events=[event("2025-06-03")], lay_ups=[lay_up]
    )
    assert item["due_on"] == "2026-06-03"


def test_a_day_known_only_as_a_year_counts_from_its_first_day():
    item = answer(on="2026-11-25", rule=TWO_YEARS, service_events=[event("2025")])
    assert item["due_on"] == "2027-01-01"


def test_a_shelf_aged_part_counts_from_its_manufacture():
    # Week 31 of 2004 begins on Monday 26 July.
    rule = {"months": 72, "counts_shelf_age": True}
    events = [event("2008-05-01", manufactured="2004-W31")]
    item = answer(on="2009-01-01", rule=rule, service_events=events)
    assert item["due_on"] == "2010-07-26"


def test_a_part_can_be_due_before_it_was_fitted():
    rule = {"months": 36, "counts_shelf_age": True}
    events = [event("2008-05-01", manufactured="2004-Q3")]
    item = answer(on="2009-01-01", rule=rule, service_events=events)
    assert (item["due_on"], item["status"]) == ("2007-07-01", "overdue")


def test_days_on_the_shelf_count_one_whatever_the_car_was_doing():
    # The car stood outdoors until the day of the fitting, but the part was on the shelf.
    lay_up = {"from": "2005-01-01", "to": "2008-05-01", "expected_to": None, "storage": "outdoors"}
    rule = {"months": 72, "counts_shelf_age": True}
    events = [event("2008-05-01", manufactured="2004-07-26")]
    item = answer(on="2009-01-01", rule=rule, service_events=events, lay_ups=[lay_up])
    assert item["due_on"] == "2010-07-26"


def test_nothing_on_record_is_due_now():
    item = answer(on="2026-11-25", rule=TWO_YEARS)
    assert (item["status"], item["due_on"], item["governed_by"]) == (
        "no_record",
        None,
        "no_record",
    )


@pytest.mark.parametrize(
    ("on", "status"),
    [
        ("2027-05-03", "in_date"),
        ("2027-05-04", "falling_due"),
        ("2027-06-03", "falling_due"),
        ("2027-06-04", "overdue"),
    ],
)
def test_an_item_falls_due_thirty_days_ahead_and_is_overdue_the_day_after(on, status):
    item = answer(on=on, rule=TWO_YEARS, service_events=[event("2025-06-03")])
    assert item["status"] == status


def test_what_falls_due_while_the_car_stands_is_for_before_its_use():
    lay_up = {"from": "2027-05-01", "to": None, "expected_to": "2027-08-01", "storage": "heated"}
    item = answer(
        on="2027-07-01", rule=TWO_YEARS, service_events=[event("2025-06-03")], lay_ups=[lay_up]
    )
    assert (item["status"], item["due_on"]) == ("before_use", "2027-06-03")


def test_an_inspection_does_not_reset_a_renewal():
    events = [event("2025-06-03"), event("2026-06-03", action="inspect")]
    item = answer(on="2026-11-25", rule=TWO_YEARS, service_events=events)
    assert item["due_on"] == "2027-06-03"


def test_storage_care_is_asked_for_while_the_car_stands_and_only_then():
    care = {"months": 1, "applies": "laid_up", "task": "inspect"}
    lay_up = {"from": "2026-11-01", "to": None, "expected_to": None, "storage": "dry"}
    standing = answer(on="2026-11-25", rule=care, lay_ups=[lay_up])
    assert (standing["due_on"], standing["status"]) == ("2026-12-01", "falling_due")
    assert answer(on="2026-11-25", rule=care) is None
