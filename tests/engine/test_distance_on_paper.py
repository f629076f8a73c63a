"""Kilometres, miles and instruments, worked out on paper beside each test."""

from tests.engine.on_paper import answer, event

TEN_THOUSAND = {"distance_km": 10_000}


def reading(on, value):
    return {"on": on, "value": value}


def test_ten_thousand_kilometres_are_reached_at_the_rate_of_the_readings():
    # 3 650 km in the 365 days of use since 1 January 2025: 10 km a day, 1 000 days from then.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
        odometer_readings=[reading("2026-01-01", 43_650)],
    )
    assert (item["due_on"], item["due_at_odometer"]) == ("2027-09-28", 50_000)


def test_a_car_that_passes_its_last_digit_in_a_day_goes_on_counting():
    # 99 990 and 0 010 on one day are 20 km; 10 a day until 1 January 2026, 1 000 days from 2025.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        odometer_digits=5,
        service_events=[event("2025-01-01", odometer=99_990)],
        odometer_readings=[reading("2025-01-01", 10), reading("2026-01-01", 3_660)],
    )
    assert (item["due_on"], item["due_at_odometer"]) == ("2027-09-28", 10_010)


def test_a_standing_car_covers_no_distance():
    # Half the year laid up: 3 650 km in 184 days of use; 6 350 km more take 321 of these.
    lay_up = {"from": "2025-07-04", "to": "2026-01-01", "expected_to": None, "storage": "dry"}
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
        odometer_readings=[reading("2026-01-01", 43_650)],
        lay_ups=[lay_up],
    )
    assert item["due_on"] == "2026-11-18"


def test_a_month_of_standing_can_count_for_kilometres():
    # 487 days laid up are 16.0003 mean months: at 100 km a month 1 600.03 km are gone.
    lay_up = {"from": "2024-09-01", "to": "2026-01-01", "expected_to": None, "storage": "dry"}
    factors = {"heated": 1, "dry": 1, "damp": 1, "outdoors": 1}
    rule = TEN_THOUSAND | {"lay_up": {"factors": factors, "km_per_month": 100}}
    item = answer(
        on="2026-01-01",
        rule=rule,
        service_events=[event("2024-01-01", odometer=40_000)],
        odometer_readings=[reading("2024-09-01", 42_440)],
        lay_ups=[lay_up],
    )
    assert item["due_at_odometer"] == 48_399.9


def test_a_five_digit_odometer_begins_again():
    # 99 500 to 300: 800 miles, 1 287.4752 km; 10 000 km are 6 213.71 miles from 99 500: 5 713.7.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        odometer_unit="mi",
        odometer_digits=5,
        service_events=[event("2025-01-01", odometer=99_500)],
        odometer_readings=[reading("2026-01-01", 300)],
    )
    assert item["due_at_odometer"] == 5_713.7


def test_a_new_instrument_goes_on_where_the_old_one_stopped():
    # 2 000 km on the old one, then 1 000 km on the new: 7 000 km left from 1 000.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
        odometer_changes=[{"on": "2025-06-01", "old_value": 42_000, "new_value": 0}],
        odometer_readings=[reading("2026-01-01", 1_000)],
    )
    assert item["due_at_odometer"] == 8_000


def test_a_limit_reached_before_the_instrument_was_changed_is_told_as_the_old_one_showed_it():
    # From 30 000 the 10 000 km were gone at 40 000, which the new instrument never showed.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2024-01-01", odometer=30_000)],
        odometer_changes=[{"on": "2025-06-01", "old_value": 42_000, "new_value": 0}],
        odometer_readings=[reading("2025-06-01", 60), reading("2026-01-01", 1_000)],
    )
    assert (item["status"], item["due_at_odometer"]) == ("overdue", 40_000)


def test_a_limit_reached_before_the_last_digit_was_passed_is_told_as_it_read_then():
    # 80 000 and 10 000 km are 90 000; since then 99 000, round once, and 99 500 again.
    readings = [reading("2023-01-01", 99_000), reading("2024-01-01", 50_000)]
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        odometer_digits=5,
        service_events=[event("2022-01-01", odometer=80_000)],
        odometer_readings=[*readings, reading("2025-12-01", 99_500)],
    )
    assert item["due_at_odometer"] == 90_000


def test_a_limit_reached_on_the_day_of_the_change_is_told_as_the_new_instrument_shows_it():
    # 42 000 on the old one; the renewal was 9 970 km before, so 30 more on the new one, from 5.
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2024-01-01", odometer=32_030)],
        odometer_changes=[{"on": "2025-06-01", "old_value": 42_000, "new_value": 5}],
        odometer_readings=[reading("2025-06-01", 65), reading("2026-01-01", 1_000)],
    )
    assert item["due_at_odometer"] == 35


def test_a_limit_reached_before_the_instrument_counted_has_no_reading():
    # Standing took 12 000 km off the limit of 10 000, from a start at 500: the odometer's first
    # kilometre lay behind that already.
    lay_up = {"from": "2024-01-01", "to": "2034-01-01", "expected_to": None, "storage": "dry"}
    factors = {"heated": 1, "dry": 1, "damp": 1, "outdoors": 1}
    item = answer(
        on="2034-01-01",
        rule=TEN_THOUSAND | {"lay_up": {"factors": factors, "km_per_month": 100}},
        service_events=[event("2024-01-01", odometer=500)],
        lay_ups=[lay_up],
    )
    assert (item["status"], item["due_at_odometer"]) == ("overdue", None)


def test_the_distance_reached_is_overdue_though_the_day_is_today():
    item = answer(
        on="2026-01-01",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
        odometer_readings=[reading("2026-01-01", 50_000)],
    )
    assert (item["due_on"], item["status"]) == ("2026-01-01", "overdue")


def test_the_keepers_expected_distance_serves_where_there_are_no_readings():
    # 3 652.5 km would be 10 a day; 3 650 km over 365.25 days need 1 000.69 days for 10 000 km.
    item = answer(
        on="2025-06-01",
        rule=TEN_THOUSAND,
        expected_annual_distance=3_650,
        service_events=[event("2025-01-01", odometer=40_000)],
    )
    assert item["due_on"] == "2027-09-29"


def test_without_readings_or_expectation_there_is_a_reading_but_no_date():
    item = answer(
        on="2025-06-01",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
    )
    assert (item["due_on"], item["due_at_odometer"]) == (None, 50_000)


def test_whichever_comes_first_governs():
    car = {
        "service_events": [event("2025-01-01", odometer=40_000)],
        "odometer_readings": [reading("2026-01-01", 43_650)],
    }
    by_time = answer(on="2026-01-01", rule=TEN_THOUSAND | {"months": 24}, **car)
    by_distance = answer(on="2026-01-01", rule=TEN_THOUSAND | {"months": 36}, **car)
    assert (by_time["due_on"], by_time["governed_by"]) == ("2027-01-01", "time")
    assert (by_distance["due_on"], by_distance["governed_by"]) == ("2027-09-28", "distance")


def test_the_band_spans_the_slow_and_the_fast_stretches():
    # A hundred days at 10 km a day, then a hundred at 20: 15 on average. From 3 000 km the last
    # 7 000 take 350 days at 20, 467 at 15, 700 at 10.
    item = answer(
        on="2025-07-20",
        rule=TEN_THOUSAND,
        service_events=[event("2025-01-01", odometer=40_000)],
        odometer_readings=[reading("2025-04-11", 41_000), reading("2025-07-20", 43_000)],
    )
    assert (item["earliest_on"], item["due_on"], item["latest_on"]) == (
        "2026-07-05",
        "2026-10-30",
        "2027-06-20",
    )
