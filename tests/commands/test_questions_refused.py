import io

import pytest
from django.core.management import CommandError, call_command

from tests.factories import DepartureFactory, VehicleFactory

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


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("trip_check", ["--from", "2100-01-01", "--to", "2100-01-02", "--distance", "1"]),
        ("project", []),
        ("recommission", ["--by", "2100-01-01"]),
        ("visit_plan", []),
    ],
)
def test_nothing_is_planned_for_a_car_that_left(command, options):
    DepartureFactory(vehicle__registration="HM 77")
    with pytest.raises(CommandError) as refused:
        asked(command, *options)
    assert str(refused.value).startswith("HM 77 has left the collection")
    assert refused.value.returncode == 2


def test_a_collection_whose_cars_have_all_left_has_none_to_plan_for():
    DepartureFactory()
    with pytest.raises(CommandError, match="there is no car to plan for"):
        call_command("visit_plan", stdout=io.StringIO())


def test_a_car_is_found_by_its_plate_without_blanks():
    VehicleFactory(registration="HM 77")
    call_command("due", "--vehicle", "hm77", stdout=io.StringIO())
