import io

import pytest
from django.core.management import CommandError, call_command

from tests.factories import VehicleFactory

pytestmark = pytest.mark.django_db


def asked(command, *options):
    call_command(command, "--vehicle", "HM 77", *options, stdout=io.StringIO())


@pytest.mark.parametrize(
    ("command", "options", "option"),
    [
        ("trip_check", ["--from", "2100-01-01", "--to", "2100-01-02", "--distance", "1",
                        "--country", "XX"], "--country: 'XX' is no country code"),
        ("trip_check", ["--from", "2100-01-02", "--to", "2100-01-01", "--distance", "1"],
         "--to: 2100-01-01 is before"),
        ("project", ["--lay-up", "2100-01-01..2100-03-01:dampp"], "--lay-up: "),
        ("project", ["--distance", "-1"], "--distance: -1 is not a distance"),
        ("project", ["--distance", "1", "--by", "2000-01-01"], "--by: 2000-01-01"),
        ("project", ["--months", "0"], "--months: 0 is not"),
    ],
)  # fmt: skip
def test_a_refusal_names_the_option_at_fault(command, options, option):
    VehicleFactory(registration="HM 77")
    with pytest.raises(CommandError) as refused:
        asked(command, *options)
    assert str(refused.value).startswith(option)


def test_a_car_is_found_by_its_plate_without_blanks():
    VehicleFactory(registration="HM 77")
    call_command("due", "--vehicle", "hm77", stdout=io.StringIO())
