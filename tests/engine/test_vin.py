from hypothesis import given
from hypothesis import strategies as st

from maintenance.engine.vin import check_digit, check_digit_warning

vins = st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=17, max_size=17)


def with_check_digit(vin: str, digit: str) -> str:
    return vin[:8] + digit + vin[9:]


@given(vins)
def test_a_number_with_its_own_check_digit_gives_no_warning(vin):
    assert check_digit_warning(with_check_digit(vin, check_digit(vin)), year=1990) is None


@given(vins, st.sampled_from("ABCDEFGH"))
def test_a_number_with_a_letter_in_the_ninth_place_gives_a_warning(vin, letter):
    warning = check_digit_warning(with_check_digit(vin, letter), year=1990)
    assert repr(check_digit(vin)) in warning


@given(vins)
def test_what_stands_in_the_ninth_place_does_not_change_the_check_digit(vin):
    assert check_digit(with_check_digit(vin, "0")) == check_digit(with_check_digit(vin, "7"))


def test_a_car_built_before_the_rule_gives_no_warning():
    assert check_digit_warning("1M8GDM9A0KP042788", year=1980) is None


def test_a_short_chassis_number_gives_no_warning():
    assert check_digit_warning("HB/1234", year=1990) is None


def test_a_letter_that_no_number_may_have_gives_a_warning():
    assert "'O'" in check_digit_warning("1M8GDM9AXKPO42788", year=None)


def test_small_letters_are_read_as_capitals():
    assert check_digit_warning("1m8gdm9axkp042788", year=1989) is None
