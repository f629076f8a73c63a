import pytest
from django.db import IntegrityError, transaction

from maintenance.models import LayUp
from maintenance.services.evidence import withdraw
from maintenance.services.lay_ups import correct_lay_up, end_lay_up, lay_up
from tests.factories import LayUpFactory, VehicleFactory
from tests.services.asking import day, refused, standing

pytestmark = pytest.mark.django_db


def test_a_car_is_laid_up_until_further_notice(when):
    made = lay_up(vehicle=VehicleFactory(), draft=standing("2026-11-01"), **when)
    assert (made.to_on, made.storage, made.current) == (None, "dry", True)


def test_ending_a_lay_up_supersedes_it_with_its_preparations_kept(when):
    car = VehicleFactory()
    begun = lay_up(vehicle=car, draft=standing("2026-10-01", preparations=("full-tank",)), **when)
    ended = end_lay_up(vehicle=car, on=day("2026-11-20"), **when)
    assert (ended.supersedes_id, ended.to_on, ended.preparations) == (
        begun.pk,
        day("2026-11-20"),
        ["full-tank"],
    )


def test_the_wrong_beginning_of_a_lay_up_stays_visible(when):
    wrong = LayUpFactory(from_on=day("2025-10-01"), to_on=day("2026-04-01"))
    correct_lay_up(
        lay_up=wrong, draft=standing("2025-11-01", "2026-04-01"), reason="a month off", **when
    )
    assert list(LayUp.objects.order_by("from_on").values_list("from_on", "current")) == [
        (day("2025-10-01"), False),
        (day("2025-11-01"), True),
    ]


def test_a_car_that_is_not_laid_up_has_no_lay_up_to_end(when):
    problems = refused(end_lay_up, vehicle=VehicleFactory(), on=day("2026-11-20"), **when)
    assert "is not laid up" in problems[""]


def test_a_lay_up_cannot_end_before_it_began(when):
    begun = LayUpFactory(from_on=day("2026-10-01"), to_on=None)
    problems = refused(end_lay_up, vehicle=begun.vehicle, on=day("2026-10-01"), **when)
    assert "not after the day it began" in problems["/on"]


def test_a_lay_up_is_not_ended_on_a_day_to_come(when):
    begun = LayUpFactory(from_on=day("2026-10-01"), to_on=None)
    problems = refused(end_lay_up, vehicle=begun.vehicle, on=day("2026-12-01"), **when)
    assert "correct the lay-up to give that day as expected_to" in problems["/on"]


def test_an_end_still_to_come_is_sent_to_expected_to(when):
    problems = refused(
        lay_up, vehicle=VehicleFactory(), draft=standing("2026-10-01", "2026-12-01"), **when
    )
    assert "expected_to" in problems["/to"]


def test_a_lay_up_that_begins_tomorrow_is_refused(when):
    problems = refused(lay_up, vehicle=VehicleFactory(), draft=standing("2026-11-26"), **when)
    assert "after today" in problems["/from"]


def test_overlapping_lay_ups_are_refused_with_both_named(when):
    first = LayUpFactory(from_on=day("2025-10-01"), to_on=day("2026-04-01"))
    problems = refused(
        lay_up, vehicle=first.vehicle, draft=standing("2026-03-31", "2026-05-01"), **when
    )
    assert "from 2026-03-31 to 2026-05-01 overlaps the one from 2025-10-01" in problems["/from"]


def test_a_lay_up_within_a_longer_one_is_refused(when):
    car = VehicleFactory()
    LayUpFactory(vehicle=car, from_on=day("2015-01-01"), to_on=day("2026-01-01"))
    assert refused(lay_up, vehicle=car, draft=standing("2020-01-01", "2020-02-01"), **when)


def test_a_lay_up_after_one_that_still_lasts_is_refused(when):
    lasting = LayUpFactory(from_on=day("2025-10-01"), to_on=None)
    problems = refused(lay_up, vehicle=lasting.vehicle, draft=standing("2026-11-01"), **when)
    assert "that still lasts" in problems["/from"]


def test_lay_ups_that_touch_are_taken(when):
    first = LayUpFactory(from_on=day("2025-10-01"), to_on=day("2026-04-01"))
    assert lay_up(vehicle=first.vehicle, draft=standing("2026-04-01", storage="damp"), **when)


def test_an_unknown_storage_grade_is_refused_with_the_nearest_one(when):
    draft = standing("2026-11-01", storage="outdoor")
    assert (
        "'outdoors'" in refused(lay_up, vehicle=VehicleFactory(), draft=draft, **when)["/storage"]
    )


def test_an_expected_end_before_the_beginning_is_refused(when):
    draft = standing("2026-11-01", expected_to=day("2026-11-01"))
    assert set(refused(lay_up, vehicle=VehicleFactory(), draft=draft, **when)) == {"/expected_to"}


def test_a_withdrawn_lay_up_makes_room_for_another(when):
    wrong = LayUpFactory(from_on=day("2025-10-01"), to_on=None)
    withdraw(record=wrong, reason="of another car", **when)
    assert lay_up(vehicle=wrong.vehicle, draft=standing("2026-11-01"), **when)


def test_the_database_itself_refuses_an_overlap():
    first = LayUpFactory(from_on=day("2025-10-01"), to_on=day("2026-04-01"))
    with pytest.raises(IntegrityError), transaction.atomic():
        LayUpFactory(vehicle=first.vehicle, from_on=day("2026-01-01"), to_on=day("2026-02-01"))
