"""Corners of a car's life, each worked out by hand, asked of the engine and of the reference."""

import pytest

from tests.engine.agreement import agreed
from tests.engine.on_paper import CAR, RULE, event
from tests.strategies import Case

YEARLY = {"months": 12}
ASSEMBLIES = {
    "components": [
        {"kind": "suspension-arm", "position": "", "assembly": None},
        {
            "kind": "ball-joint-boot",
            "position": "",
            "assembly": {"kind": "suspension-arm", "position": ""},
        },
        {
            "kind": "brake-fluid",
            "position": "",
            "assembly": {"kind": "ball-joint-boot", "position": ""},
        },
    ]
}
REGIME = {
    "name": "an invented law",
    "first_after_months": 36,
    "bands": [{"from_age_months": 36, "every_months": 12}],
    "certificate_end": "anniversary",
    "keeps_date_months_early": 0,
    "date_kept": None,
    "suspended_off_road": False,
    "exempt_after_months": None,
}

FIRST_KEPT = {"keeps_date_months_early": 1, "date_kept": "first_due"}
BY_REGISTRATION = {"keeps_date_months_early": 3, "date_kept": "registration"}


def items(*, on, rule=None, regime=None, **car):
    """What engine and reference both say of a car with one component or a few."""
    rules = [(RULE | rule, [(RULE["kind"], "")])] if rule else []
    return agreed(Case(CAR | car, rules, regime, on))


def item(**asked):
    (only,) = items(**asked)
    return only


def lay_up(start, end, storage="damp", expected=None):
    return {"from": start, "to": end, "expected_to": expected, "storage": storage}


def readings(**values):
    return [{"on": f"{day[1:5]}-{day[5:7]}-{day[7:]}", "value": values[day]} for day in values]


def measured(on, value):
    return event(
        on, "measure", measurement={"quantity": "lining_thickness", "value": value, "unit": "mm"}
    )


def wear(against="aged_days", new=10, criticality="reliability"):
    quantity = {"quantity": "lining_thickness", "unit": "mm", "minimum": 2, "against": against}
    return {"wear": quantity | {"new": new}, "criticality": criticality}


def inspected(on, result="pass", expires_on=None, findings=()):
    return {"on": on, "result": result, "expires_on": expires_on, "findings": list(findings)}


def test_a_car_of_which_nothing_is_known_has_nothing_due():
    assert items(on="2024-03-01", components=[]) == []


@pytest.mark.parametrize(
    ("renewed", "due"), [("2020-02-29", "2021-02-28"), ("2023-08-31", "2024-08-31")]
)
def test_a_year_from_a_leap_day_or_a_month_end_keeps_to_the_calendar(renewed, due):
    assert item(on=renewed, rule=YEARLY, service_events=[event(renewed)])["due_on"] == due


def test_a_planned_lay_up_brings_the_day_forward_as_a_past_one_would():
    # 182 days in use to 1 July; the other 184 pass in 123 days that count 1.5.
    asked = {"rule": YEARLY, "service_events": [event("2024-01-01")]}
    planned = [lay_up("2024-07-01", "2025-07-01")]
    assert item(on="2024-03-01", lay_ups=planned, **asked)["due_on"] == "2024-11-01"


def test_a_part_renewed_while_the_car_stands_ages_from_then_on_as_it_stands():
    # 366 days of two: 183 days from 1 March 2024.
    standing = [lay_up("2023-01-01", None, "outdoors")]
    done = [event("2022-06-01"), event("2024-03-01")]
    due = item(on="2024-03-02", rule={"months": 12}, lay_ups=standing, service_events=done)
    assert due["due_on"] == "2024-08-31"


@pytest.mark.parametrize(
    ("manufactured", "due"),
    [
        ("2004-W31", "2010-07-26"),
        ("1994-Q3", "2000-07-01"),
        ("2006-02-11", "2012-02-11"),
        (None, "2013-05-04"),
    ],
)
def test_a_part_older_than_its_fitting_counts_from_the_first_day_of_what_is_stated(
    manufactured, due
):
    fitted = event("2007-05-04", manufactured=manufactured)
    rule = {"months": 72, "counts_shelf_age": True}
    assert item(on="2008-01-01", rule=rule, service_events=[fitted])["due_on"] == due


@pytest.mark.parametrize(("carried_over", "due"), [([], "2024-05-01"), (["boot"], "2021-05-01")])
def test_a_part_three_deep_is_new_with_its_assembly_unless_what_lies_between_is_carried_over(
    carried_over, due
):
    boot = {"kind": "ball-joint-boot", "position": ""}
    whole = event("2023-05-01", kind="suspension-arm", carried_over=[boot for _ in carried_over])
    history = [event("2020-05-01"), whole]
    assert item(on="2023-06-01", rule=YEARLY, service_events=history, **ASSEMBLIES)["due_on"] == due


def test_the_reading_of_an_event_known_by_its_year_stands_after_the_readings_it_exceeds():
    # 8 000 km in the 200 days from 14 June; the 10 000 km are full 50 days after the last reading.
    history = [event("2021", "inspect", odometer=42_000), event("2021-06-14")]
    rule = {"distance_km": 10_000}
    shown = readings(_20210614=42_000, _20211231=50_000)
    due = item(on="2022-01-01", rule=rule, service_events=history, odometer_readings=shown)
    assert due["due_on"] == "2022-02-19"


def test_miles_recorded_out_of_order_on_a_five_digit_odometer_that_turned_over():
    # 100 miles in 100 days; 321.8688 km are 200 miles.
    shown = readings(_20240410=60, _20240101=99_960)
    due = item(
        on="2024-04-10",
        rule={"distance_km": "321.8688"},
        service_events=[event("2024-01-01")],
        odometer_unit="mi",
        odometer_digits=5,
        odometer_readings=shown,
    )
    assert (due["due_on"], due["due_at_odometer"]) == ("2024-07-19", 160.0)


def test_two_readings_of_the_day_an_instrument_is_changed_find_each_its_own():
    # 1 000 km on the old instrument, 500 on the new, in 150 days.
    change = {"on": "2024-04-10", "old_value": 61_000, "new_value": 12}
    shown = readings(_20240101=60_000, _20240410=60_990) + readings(_20240410=14, _20240530=512)
    due = item(
        on="2024-05-30",
        rule={"distance_km": 2_000},
        service_events=[event("2024-01-01")],
        odometer_readings=shown,
        odometer_changes=[change],
    )
    assert (due["due_on"], due["due_at_odometer"]) == ("2024-07-19", 1_012.0)


def test_the_band_counts_both_ends_of_a_distance_at_one_rate():
    # 100 days at 10 km and 100 at 30 give 20 km a day. Work done ten days after the last reading
    # is good for 600 km: 30 days at that, 60 and 20 at the edges.
    shown = readings(_20240101=0, _20240410=1_000, _20240719=4_000)
    due = item(
        on="2024-07-29",
        rule={"distance_km": 600},
        service_events=[event("2024-07-29")],
        odometer_readings=shown,
    )
    days = (due["earliest_on"], due["due_on"], due["latest_on"])
    assert days == ("2024-08-18", "2024-08-28", "2024-09-27")


def test_a_first_use_long_past_stays_due_on_the_day_of_return():
    rule = {"before_use_after_months": 6}
    stood = [lay_up("2023-09-30", "2024-03-30"), lay_up("2024-10-01", None)]
    due = item(on="2024-12-01", rule=rule, lay_ups=stood, service_events=[event("2023-01-01")])
    assert (due["status"], due["due_on"]) == ("before_use", "2024-03-30")


def test_storage_care_that_falls_due_after_the_return_has_no_day():
    rule = {"months": 3, "applies": "laid_up"}
    stands = [lay_up("2024-10-01", None, "dry", expected="2024-12-15")]
    due = item(on="2024-11-01", rule=rule, lay_ups=stands)
    assert (due["status"], due["due_on"]) == ("in_date", None)


def test_linings_that_on_the_whole_do_not_wear_give_no_day():
    # The two of one day have the third for their mean, so the line lies flat; binary fractions
    # let it fall by a hair.
    history = [event("2023-01-01"), measured("2023-05-01", "4.6"), measured("2023-05-01", "8.6")]
    history.append(measured("2024-01-01", "6.6"))
    due = item(on="2024-02-01", rule=wear(new=None, criticality="safety"), service_events=history)
    assert (due["status"], due["due_on"], due["earliest_on"]) == ("in_date", None, None)


def test_a_part_measured_within_its_limit_is_not_unmeasured_for_want_of_a_renewal():
    rule = wear() | {"task": "inspect"}
    assert item(on="2024-02-01", rule=rule, service_events=[measured("2024-01-01", 6)])[
        "status"
    ] == ("in_date")


def test_a_part_found_worn_out_is_due_from_that_day_though_its_renewal_is_unknown():
    rule = wear() | {"task": "inspect"}
    history = [measured("2024-01-01", 2), measured("2023-01-01", 3)]
    due = item(on="2024-02-01", rule=rule, service_events=history)
    assert (due["status"], due["due_on"]) == ("overdue", "2024-01-01")


def test_wear_by_distance_without_a_reading_goes_by_the_expected_distance():
    # 1.9 mm in 100 days of use: 8 mm are gone on the 422nd day, whatever the distance is.
    history = [event("2023-01-01"), measured("2023-04-11", "8.1")]
    rule = wear(against="distance")
    due = item(on="2023-05-01", rule=rule, service_events=history, expected_annual_distance=5_000)
    assert due["due_on"] == "2024-02-27"


@pytest.mark.parametrize(
    ("terms", "tests", "due"),
    [
        ({}, [], "1988-05-13"),
        ({"certificate_end": "month_end"}, [], "1988-05-31"),
        ({"certificate_end": "day_before"}, ["2023-04-01"], "2024-03-31"),
        ({"keeps_date_months_early": 1}, ["2022-05-15", "2023-04-16"], "2024-05-15"),
        ({"keeps_date_months_early": 1}, ["2022-05-15", "2023-04-15"], "2024-04-15"),
        ({"keeps_date_months_early": 1}, ["1988-04-14"], "1989-04-14"),
        (FIRST_KEPT, ["1988-04-14"], "1989-05-13"),
        (FIRST_KEPT, ["1988-04-13"], "1989-04-13"),
        (FIRST_KEPT | {"certificate_end": "day_before"}, ["1988-04-14"], "1989-05-12"),
        (BY_REGISTRATION, ["2023-02-14"], "2024-05-13"),
        (BY_REGISTRATION, ["2023-02-13"], "2023-05-13"),
        (BY_REGISTRATION, ["2022-08-20"], "2023-05-13"),
        (BY_REGISTRATION, ["1986-01-01"], "1988-05-13"),
    ],
)
def test_the_next_inspection_follows_the_terms_of_the_law(terms, tests, due):
    passed = [inspected(on) for on in tests]
    assert item(on="2023-06-01", regime=REGIME | terms, inspections=passed)["due_on"] == due


def test_an_inspection_that_falls_due_off_the_road_waits_for_the_return():
    regime = REGIME | {"suspended_off_road": True}
    stood = [lay_up("2023-01-01", "2023-07-01"), lay_up("2023-07-01", None)]
    due = item(on="2024-02-01", regime=regime, lay_ups=stood, inspections=[inspected("2022-05-01")])
    assert (due["status"], due["due_on"]) == ("before_use", None)


def test_an_old_car_left_as_it_was_built_needs_no_inspection():
    regime = REGIME | {"exempt_after_months": 480}
    assert items(on="2025-05-13", regime=regime, substantially_changed=False) == []


@pytest.mark.parametrize("category", ["major", "dangerous"])
def test_a_grave_finding_of_a_pass_falls_due_and_the_pass_counts_for_nothing(category):
    found = {"kind": "brake-fluid", "position": "", "category": category}
    before = inspected("2023-05-12", "fail", findings=[found])
    wrong = inspected("2024-01-10", "pass", "2025-01-09", findings=[found])
    due = items(on="2024-02-01", regime=REGIME, inspections=[before, wrong])
    assert [(row["governed_by"], row["due_on"]) for row in due] == [
        ("inspection", "1988-05-13"),
        ("finding", "2023-05-12"),
        ("finding", "2024-01-10"),
    ]


def test_a_finding_stands_until_the_part_is_mended():
    found = {"kind": "brake-fluid", "position": "", "category": "major"}
    failed = [inspected("2024-01-10", "fail", findings=[found, found | {"category": "minor"}])]
    due = item(on="2024-01-10", inspections=failed)
    assert (due["status"], due["governed_by"]) == ("falling_due", "finding")
    assert items(on="2024-01-11", inspections=failed, service_events=[event("2024-01-10")]) == []
