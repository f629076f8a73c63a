"""A car's way back to the road, planned from its records."""

import datetime
from decimal import Decimal

import pytest

from maintenance.models import PlanJob, RecommissioningPlan
from maintenance.services.plans.answers import as_dict
from maintenance.services.plans.terms import ResourceDraft
from tests.factories import ComponentFactory, FindingFactory, InspectionFactory, VehicleFactory
from tests.services.asking import refused
from tests.services.plans.cars import (
    FIRST,
    SECOND,
    STATIONS,
    TODAY,
    day_of,
    draft,
    fitted,
    kept,
    laid_up_car,
    offer,
    planned,
    two_axles,
)

pytestmark = pytest.mark.django_db

STANDS = (ResourceDraft(name="axle stands", capacity=2),)


def test_with_one_pair_of_stands_two_axles_take_two_saturdays():
    # 9:00 raise front, 9:30 two hoses, 10:30 lower, 11:00 raise rear, 11:30 two hoses, 12:30
    # lower, 13:00 fill, 13:30 bleed four times, 15:30 first drive; the road test of an hour would
    # end at five, an hour after work.
    sheets = planned(two_axles())
    assert day_of(sheets, "first_drive whole-car") == FIRST
    assert sheets.plan.result["ready_on"] == SECOND.isoformat()


def test_a_second_pair_of_stands_wins_nothing_as_nobody_works_while_the_car_goes_up():
    # 9:00 raise front, 9:30 raise rear, 10:00 four hoses by two people, 12:00 and 12:30 lower,
    # 13:00 fill, and so on as with one pair.
    sheets = planned(two_axles(), resources=STANDS)
    assert sheets.plan.result["ready_on"] == SECOND.isoformat()
    assert sheets.plan.result["proven"]


def test_on_a_lift_the_same_work_is_done_on_one_saturday():
    # 9:00 raise, 9:30 four hoses by two people, 11:30 lower, 12:00 fill, 12:30 bleed four times,
    # 14:30 first drive, 15:00 road test, 16:00.
    sheets = planned(two_axles(), resources=(ResourceDraft(name="lift"),))
    assert sheets.plan.result["ready_on"] == FIRST.isoformat()
    assert sheets.plan.result["proven"]


def test_brakes_are_bled_from_the_far_end_after_the_last_hose():
    sheets = planned(two_axles(), resources=STANDS)
    jobs = [job for job in sheets.jobs.values() if job.state == "planned"]
    jobs.sort(key=lambda job: (job.starts_on, job.starts_at))
    order = [job.key for job in jobs if job.task == "bleed"]
    assert [key.removeprefix("bleed brake-circuit ") for key in order] == [
        "rear left", "rear right", "front left", "front right",
    ]  # fmt: skip
    hoses = [job for job in jobs if job.kind == "brake-hose"]
    bled = next(job for job in jobs if job.task == "bleed")
    assert max(job.ends_at for job in hoses) <= bled.starts_at


def test_a_renewal_settles_the_inspection_of_the_same_part():
    sheets = planned(two_axles())
    assert "renew brake-hose rear left" in sheets.jobs
    assert "inspect brake-hose rear left" not in sheets.jobs


def test_the_mate_on_the_same_axle_is_renewed_with_it():
    car = laid_up_car()
    fitted(car, "brake-hose", "front left", renewed=datetime.date(2013, 1, 1))
    fitted(car, "brake-hose", "front right", renewed=datetime.date(2026, 10, 1))
    assert "renew brake-hose front right" in planned(car).jobs


def test_what_must_be_ordered_is_told_by_the_last_day_to_do_it():
    car = two_axles()
    offer(car, "brake-hose", "31.00", lead_days=10)
    found = as_dict(planned(car))
    hoses = [order for order in found["orders"] if order["part"] == "brake-hose"]
    assert len(hoses) == 4
    for order in hoses:
        day = datetime.date.fromisoformat(order["needed_on"])
        assert order["order_by"] == (day - datetime.timedelta(10)).isoformat()
        assert order["now"] == (order["order_by"] <= "2026-12-02")


def test_costs_are_told_by_supplier_and_by_system():
    car = two_axles()
    offer(car, "brake-hose", "31.00", supplier="Skerrow")
    offer(car, "brake-fluid", "12.00", supplier="Ander")
    costs = planned(car).plan.result["costs"]
    assert costs["total"] == 4 * 31 + 12
    assert costs["by_supplier"] == [
        {"supplier": "Skerrow", "amount": 124}, {"supplier": "Ander", "amount": 12},
    ]  # fmt: skip
    assert costs["by_system"] == [{"system": "brakes", "amount": 136}]


def test_a_renewal_without_a_price_is_told_and_not_reckoned_as_free():
    car = two_axles()
    offer(car, "brake-hose", "31.00")
    assert planned(car).plan.result["without_price"] == ["Renew brake fluid"]


def test_a_deadline_before_the_hoses_come_is_impossible_for_that_reason():
    car = two_axles()
    offer(car, "brake-hose", "31.00", lead_days=40)
    sheets = planned(car, by=datetime.date(2026, 12, 20))
    conflict = sheets.plan.result["conflict"]
    assert sheets.plan.state == "impossible"
    assert conflict["smallest"] and len(conflict["demands"]) == 2
    assert "brake-hose arrives on 2027-01-04" in conflict["words"]
    assert "everything is finished by 2026-12-20" in conflict["words"]
    # The front stands raised by then: 9:00 hoses, 10:00 lower, 10:30 raise rear, 11:00 hoses, 12:00
    # lower, 12:30 fill, 13:00 bleed, 15:00 first drive; the road test would end at half past four.
    assert conflict["ready_on_without"] == "2027-01-16"


def test_where_the_demands_can_not_hold_work_goes_on_by_the_plan_that_gives_them_up():
    car = two_axles()
    offer(car, "brake-hose", "31.00", lead_days=40)
    sheets = planned(car, by=datetime.date(2026, 12, 20))
    assert day_of(sheets, "renew brake-hose rear left") == datetime.date(2027, 1, 9)


def test_a_budget_below_the_price_of_safety_is_impossible():
    car = two_axles()
    offer(car, "brake-hose", "31.00")
    sheets = planned(car, budget=Decimal(100))
    assert sheets.plan.state == "impossible"
    assert "no more than 100.00 is spent" in sheets.plan.result["conflict"]["words"]
    assert sheets.plan.result["conflict"]["cost_without"] == 124


def test_looks_are_left_out_where_the_budget_does_not_reach():
    car = two_axles()
    fitted(car, "wiper-blades", renewed=datetime.date(2026, 11, 1))
    offer(car, "brake-hose", "20.00")
    passed = InspectionFactory(vehicle=car, on=datetime.date(2026, 11, 20))
    blades = car.components.get(kind="wiper-blades")
    FindingFactory(inspection=passed, component=blades, category="advisory", note="edge torn")
    offer(car, "wiper-blades", "30.00")
    rich = planned(car, budget=Decimal(200))
    assert rich.jobs["renew wiper-blades"].state == PlanJob.State.PLANNED
    poor = planned(car, budget=Decimal(100))
    assert poor.plan.result["left_out"] == ["Renew wiper blades"]


def test_a_minor_finding_is_put_right_whatever_the_budget():
    car = two_axles()
    fitted(car, "wiper-blades", renewed=datetime.date(2026, 11, 1))
    passed = InspectionFactory(vehicle=car, on=datetime.date(2026, 11, 20))
    blades = car.components.get(kind="wiper-blades")
    FindingFactory(inspection=passed, component=blades, category="minor", note="edge torn")
    offer(car, "wiper-blades", "30.00")
    sheets = planned(car, budget=Decimal(20))
    assert sheets.plan.state == "impossible"
    assert "wiper-blades" in sheets.plan.result["conflict"]["words"]


def test_boots_on_record_as_parts_of_a_shaft_come_with_the_new_shaft():
    car = laid_up_car()
    [shaft] = fitted(car, "half-shaft", "left")
    made = {"vehicle": car, "kind": "half-shaft-boot", "assembly": shaft}
    boots = [ComponentFactory(position=place, **made) for place in ("left inner", "left outer")]
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 11, 10))
    for component in (shaft, *boots):
        FindingFactory(inspection=failed, component=component, category="major")
    sheets = planned(car)
    assert not any("boot" in key for key in sheets.jobs)
    [whole] = [job for job in sheets.jobs.values() if job.kind == "half-shaft"]
    assert set(whole.clears) == {str(boot.pk) for boot in boots}


def test_an_assembly_cheaper_than_its_piece_settles_the_piece():
    car = laid_up_car()
    [arm] = fitted(car, "suspension-arm", "front left", renewed=datetime.date(2026, 10, 1))
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 11, 10))
    boot = ComponentFactory(
        vehicle=car, kind="ball-joint-boot", position="front left", assembly=arm
    )
    FindingFactory(inspection=failed, component=boot)
    offer(car, "suspension-arm", "48.00")
    offer(car, "ball-joint-boot", "59.00")
    sheets = planned(car, rate_per_hour=Decimal(0), currency="EUR")
    assert "renew ball-joint-boot front left" not in sheets.jobs
    assert sheets.jobs["renew suspension-arm front left"].clears == [str(boot.pk)]
    assert sheets.plan.result["assemblies"] == [
        "suspension-arm front left at 48.00 is cheaper than ball-joint-boot at 59.00"
    ]
    assert "adjust wheel-alignment" in sheets.jobs
    assert "roadworthiness_re_inspection whole-car" in sheets.jobs


def test_a_piece_that_nobody_sells_alone_brings_its_assembly():
    car = laid_up_car()
    fitted(car, "suspension-arm", "front left", renewed=datetime.date(2026, 10, 1))
    fitted(car, "ball-joint", "front left", renewed=datetime.date(2010, 10, 1))
    failed = InspectionFactory(vehicle=car, result="fail", on=datetime.date(2026, 11, 10))
    joint = car.components.get(kind="ball-joint")
    FindingFactory(inspection=failed, component=joint)
    offer(car, "suspension-arm", "480.00")
    offer(car, "ball-joint", "12.00", sold_separately=False)
    words = planned(car).plan.result["assemblies"]
    assert words == ["suspension-arm front left is the only way to get ball-joint, at 480.00"]


def test_the_same_seed_gives_the_same_plan():
    car = two_axles()
    assert as_dict(planned(car)) == as_dict(planned(car))


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"by": datetime.date(2026, 11, 1)}, "/by"),
        ({"by": datetime.date(2036, 11, 1)}, "/by"),
        ({"starts_on": datetime.date(2026, 11, 1)}, "/starts_on"),
        ({"budget": Decimal(-1), "currency": "EUR"}, "/budget"),
        ({"budget": Decimal(100)}, "/currency"),
        ({"currency": "euro"}, "/currency"),
        ({"people": ()}, "/people"),
        ({"people": ("Ada", "Ada")}, "/people/1/name"),
        ({"hours": 0}, "/people/0/hours/0/ends_at"),
        ({"time_limit": 60}, "/time_limit"),
        ({"resources": STANDS * 2}, "/resources/1/name"),
    ],
)
def test_terms_that_make_no_sense_are_refused_by_their_field(said, pointer):
    assert pointer in refused(planned, car=two_axles(), **said)


def test_a_plan_is_kept_with_its_people_jobs_and_parts(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00", part_number="SR-1")
    plan = RecommissioningPlan.objects.get(pk=kept(car, now).pk)
    assert [person.name for person in plan.people.order_by("sequence")] == ["Ada", "Ben"]
    assert plan.parts.filter(part_number="SR-1").count() == 4
    assert plan.jobs.get(key="road_test whole-car").starts_on == SECOND


def test_a_car_in_use_is_planned_for_what_falls_due_by_the_day():
    car = VehicleFactory(inspection_regime="")
    fitted(car, "brake-fluid", renewed=datetime.date(2025, 2, 1))
    sheets = planned(car, by=datetime.date(2027, 2, 1))
    assert "renew brake-fluid" in sheets.jobs
    assert {f"bleed brake-circuit {place}" for place in STATIONS} <= set(sheets.jobs)


def test_a_car_that_asks_for_nothing_has_nothing_planned():
    sheets = planned(VehicleFactory(inspection_regime=""))
    assert sheets.jobs == {} and sheets.plan.result["ready_on"] is None


def test_no_word_of_a_plan_calls_a_car_what_nobody_can_promise():
    words = str(as_dict(planned(two_axles()))).lower()
    assert " safe " not in words and "safely" not in words
    assert draft().starts_on == TODAY
