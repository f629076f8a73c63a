"""The GB regime against government guidance (primary text read; guidance updated 2026-03-10)."""

from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from maintenance.catalogue.load import catalogue

GB = catalogue().regimes["gb"]


def keeps_date_from(expiry):
    return expiry - relativedelta(months=GB.keeps_date_months_early) + timedelta(days=1)


def test_a_car_is_first_inspected_at_three_years_and_then_yearly():
    (band,) = GB.bands

    assert (GB.first_after_months, band.from_age_months, band.every_months) == (36, 36, 12)


def test_a_car_first_registered_on_31_may_1978_is_exempt_from_31_may_2018():
    registered = date(1978, 5, 31)

    assert registered + relativedelta(months=GB.exempt_after_months) == date(2018, 5, 31)


def test_a_substantial_change_counts_against_the_exemption_for_thirty_years():
    assert GB.exempt_unchanged_months == 30 * 12


def test_a_certificate_to_15_may_may_be_renewed_from_16_april_without_losing_a_day():
    assert keeps_date_from(date(2026, 5, 15)) == date(2026, 4, 16)


def test_a_certificate_to_1_april_2007_may_be_renewed_from_2_march_without_losing_a_day():
    assert keeps_date_from(date(2007, 4, 1)) == date(2007, 3, 2)


def test_an_earlier_test_gives_a_year_less_a_day():
    assert GB.certificate_end == "day_before"
