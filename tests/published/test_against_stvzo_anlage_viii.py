"""The German regime against StVZO, Anlage VIII (primary text of 2022-03-26 read)."""

from datetime import date

from dateutil.relativedelta import relativedelta

from maintenance.catalogue.load import catalogue

DE = catalogue().regimes["de"]
MONTH_END = relativedelta(day=31)


def test_a_car_registered_on_17_march_2026_is_first_due_at_the_end_of_march_2029():
    first = date(2026, 3, 17) + relativedelta(months=DE.first_after_months)

    assert (first + MONTH_END, DE.certificate_end) == (date(2029, 3, 31), "month_end")


def test_a_car_inspected_on_10_march_2029_is_next_due_at_the_end_of_march_2031():
    (band,) = DE.bands

    assert date(2029, 3, 10) + relativedelta(months=band.every_months) + MONTH_END == date(
        2031, 3, 31
    )


def test_the_period_rests_while_the_car_is_off_the_road():
    assert DE.suspended_off_road


def test_no_age_exempts_a_car():
    assert DE.exempt_after_months is None
