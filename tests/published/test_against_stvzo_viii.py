"""StVZO, Anlage VIII, as of 2022-03-26: dates of the German main inspection."""

from tests.published.cars_under_inspection import next_inspection


def test_a_car_registered_on_17_march_2026_is_due_by_the_end_of_march_2029():
    assert next_inspection("de", "2026-03-17", on="2026-11-25") == "2029-03-31"


def test_a_car_inspected_on_10_march_2029_is_due_by_the_end_of_march_2031():
    passed = [("2029-03-10", None)]
    assert next_inspection("de", "2026-03-17", passed=passed, on="2029-04-01") == "2031-03-31"


def test_what_falls_due_off_the_road_is_done_at_the_return_to_service():
    # Off the road from January 2030 to June 2031, due in May 2030: done in June 2031.
    history = {"passed": [("2028-05-10", None)], "off_road": [("2030-01-15", "2031-06-20")]}
    assert next_inspection("de", "2020-05-04", on="2031-06-01", **history) == "2031-06-20"


def test_there_is_no_day_while_the_return_to_service_is_not_known():
    history = {"passed": [("2028-05-10", None)], "off_road": [("2030-01-15", None)]}
    assert next_inspection("de", "2020-05-04", on="2030-03-01", **history) is None


def test_on_a_seasonal_plate_a_test_outside_the_season_is_done_in_its_first_month():
    # Plate for April to October, due in December 2030: April 2031.
    history = {"passed": [("2028-12-03", None)], "season": (4, 10)}
    assert next_inspection("de", "2020-12-01", on="2030-01-01", **history) == "2031-04-30"


def test_on_a_seasonal_plate_a_test_within_the_season_keeps_its_month():
    history = {"passed": [("2029-06-03", None)], "season": (4, 10)}
    assert next_inspection("de", "2020-06-01", on="2030-01-01", **history) == "2031-06-30"
