"""The plan as work goes on."""

import datetime
from decimal import Decimal

import pytest

from maintenance.models import DueItem, Entry, PlanJob, RecommissioningPlan, ServiceEvent
from maintenance.services.drafts import FindingDraft, InspectionDraft, MeasurementDraft, Place
from maintenance.services.inspections import record_inspection
from maintenance.services.plans import stored
from maintenance.services.plans.answers import as_dict
from maintenance.services.plans.jobs import add_part, add_wish, change_job, change_part, mark_done
from maintenance.services.plans.stored import plan_again
from maintenance.services.plans.terms import DoneDraft, WishDraft
from maintenance.services.refusals import Outdated
from maintenance.services.service_events import record_service_event
from tests.factories import ComponentFactory
from tests.services.asking import entry, event, refused
from tests.services.plans.cars import (
    FIRST,
    SECOND,
    THIRD,
    TODAY,
    fitted,
    kept,
    laid_up_car,
    offer,
    planned,
    two_axles,
)

pytestmark = pytest.mark.django_db

SUNDAY = FIRST + datetime.timedelta(1)
LATER = datetime.datetime(2026, 11, 29, 9, 0, tzinfo=datetime.UTC)
HOSE = "renew brake-hose front left"


@pytest.fixture
def plan(now):
    return kept(two_axles(), now, currency="EUR")


def do(plan, key, on=FIRST, at=LATER, **said):
    job = plan.jobs.get(key=key)
    return mark_done(job=job, draft=DoneDraft(on=on, **said), by=None, at=at, today=SUNDAY)


def again(plan, today=SUNDAY, at=LATER, **said):
    plan_again(plan=plan, today=today, at=at, **said)
    return RecommissioningPlan.objects.get(pk=plan.pk)


def record(plan, *entries, at=LATER, on=FIRST):
    record_service_event(
        vehicle=plan.vehicle, draft=event(*entries, on=on.isoformat()), by=None, at=at, today=SUNDAY
    )


def days(plan):
    return dict(plan.jobs.values_list("key", "starts_on"))


def do_the_first_saturday(plan):
    """All but the road test, which is planned for the second."""
    keys = [job.key for job in plan.jobs.order_by("sequence") if job.task != "road_test"]
    for key in keys:
        do(plan, key)
    return again(plan)


def test_a_job_done_is_a_service_event_and_clears_its_due_item(plan):
    do(plan, HOSE, hours=Decimal("1.25"), done_by="Ada")
    entry_made = Entry.objects.get(component__position="front left", event__on=FIRST)
    assert (entry_made.action, entry_made.event.done_by) == ("renew", "Ada")
    items = DueItem.objects.filter(component__position="front left", task="renew")
    assert [item.due_on.year for item in items] == [2036]


def test_a_job_on_no_component_is_recorded_by_its_name(plan):
    do(plan, "raise axle front")
    assert ServiceEvent.objects.get(on=FIRST).note == "Raise axle, front"


def test_what_is_done_stays_and_the_rest_does_not_move(plan):
    before = days(plan)
    do(plan, HOSE)
    plan = again(plan, today=FIRST)
    assert plan.jobs.get(key=HOSE).state == PlanJob.State.DONE
    assert days(plan)["road_test whole-car"] == before["road_test whole-car"] == SECOND


def test_work_that_was_missed_moves_to_the_next_day_of_work(plan):
    plan = again(plan)
    assert plan.state == "planned"
    assert days(plan)[HOSE] == SECOND
    assert days(plan)["road_test whole-car"] == THIRD


def test_work_recorded_elsewhere_counts_as_done(plan):
    record(plan, entry("brake-hose", "front left", price=Decimal("29.90")), at=LATER)
    job = again(plan).jobs.get(key=HOSE)
    assert (job.state, job.done_on, job.cost_paid) == ("done", FIRST, Decimal("29.90"))


def test_follow_on_work_stays_when_what_called_for_it_is_done(plan):
    for place in ("front left", "front right", "rear left", "rear right"):
        do(plan, f"renew brake-hose {place}")
    assert "bleed brake-circuit rear left" in days(again(plan))


def test_an_axle_with_nothing_left_to_do_behind_its_wheels_is_raised_no_more(plan):
    for place in ("front left", "front right"):
        do(plan, f"renew brake-hose {place}")
    again(plan)
    raised = plan.jobs.filter(kind="axle", position="front")
    assert {(job.task, job.state, job.done_on) for job in raised} == {
        ("raise", "done", FIRST),
        ("lower", "done", FIRST),
    }


def test_an_axle_that_was_raised_is_still_to_be_lowered(plan):
    for key in ("raise axle front", HOSE, "renew brake-hose front right"):
        do(plan, key)
    assert again(plan).jobs.get(key="lower axle front").state == PlanJob.State.PLANNED


def test_a_hose_found_bad_after_the_bleeding_has_the_brakes_bled_again(plan):
    plan = do_the_first_saturday(plan)
    assert plan.jobs.exclude(state="done").count() == 1
    ComponentFactory(vehicle=plan.vehicle, kind="brake-pipe", position="rear")
    failed = InspectionDraft(
        on=SUNDAY,
        result="fail",
        findings=(FindingDraft(place=Place("brake-pipe", "rear"), category="dangerous"),),
    )
    record_inspection(vehicle=plan.vehicle, draft=failed, by=None, at=LATER, today=SUNDAY)
    plan = again(plan)
    waiting = set(plan.jobs.filter(state="planned").values_list("key", flat=True))
    assert "renew brake-pipe rear" in waiting
    assert {"renew brake-fluid", "first_drive whole-car", "road_test whole-car"} <= waiting
    assert len([key for key in waiting if key.startswith("bleed")]) == 4
    assert "roadworthiness_re_inspection whole-car" in waiting
    assert "renew brake-fluid" in plan.result["done_again"]
    # What was done the first time is still there, with its day.
    assert plan.jobs.get(key=f"renew brake-fluid, done {FIRST}").done_on == FIRST


def test_an_inspection_recorded_is_the_planned_one(now):
    car = two_axles()
    car.inspection_regime = "gb"
    car.built_on = car.first_registered_on = datetime.date(1999, 5, 1)
    car.save()
    plan = kept(car, now)
    passed = InspectionDraft(on=SUNDAY, result="pass")
    record_inspection(vehicle=car, draft=passed, by=None, at=LATER, today=SUNDAY)
    done = again(plan).jobs.get(task="roadworthiness_inspection")
    assert (done.state, done.done_on) == ("done", SUNDAY)


def test_an_inspection_is_not_marked_but_recorded(now):
    car = two_axles()
    car.inspection_regime = "gb"
    car.built_on = car.first_registered_on = datetime.date(1999, 5, 1)
    car.save()
    job = kept(car, now).jobs.get(task="roadworthiness_inspection")
    told = refused(mark_done, job=job, draft=DoneDraft(on=FIRST), by=None, at=LATER, today=SUNDAY)
    assert told[""].startswith("record the inspection under inspections")


def test_estimates_are_kept_beside_what_it_took(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00")
    plan = kept(car, now)
    do(plan, HOSE, hours=Decimal("1.50"), cost=Decimal("33.50"))
    found = again(plan).result
    assert found["estimates"] == {
        "jobs_done": 1,
        "hours_estimated": 0.75,
        "hours_taken": 1.5,
        "hours_ratio": 2.0,
        "mean_hours_off": 0.75,
        "cost_estimated": 31,
        "cost_paid": 33.5,
        "cost_ratio": 1.081,
    }
    assert found["costs"]["spent"] == 33.5
    assert found["costs"]["total"] == 3 * 31


def test_what_was_spent_counts_against_the_budget(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00")
    plan = kept(car, now, budget=Decimal(125))
    do(plan, HOSE, cost=Decimal("40.00"))
    assert again(plan).state == "impossible"


def test_a_job_that_calls_for_a_measurement_records_it(now):
    car = laid_up_car()
    fitted(car, "brake-pads", "front", renewed=datetime.date(2026, 11, 20))
    plan = kept(car, now)
    told = MeasurementDraft(quantity="lining_thickness", value=Decimal("6.2"), unit="mm")
    do(plan, "inspect brake-pads front", measurement=told)
    assert Entry.objects.filter(action="measure", measurement__value=Decimal("6.2")).exists()


def test_a_part_that_is_ordered_needs_no_more_ordering_and_comes_when_promised(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00", lead_days=2)
    plan = kept(car, now)
    for part in plan.parts.filter(name="brake-hose"):
        ordered = {"ordered_on": now.date(), "arrives_on": datetime.date(2026, 12, 10)}
        change_part(part=part, version=part.version, changes=ordered, today=now.date())
    plan = again(plan, today=now.date(), at=now)
    assert days(plan)[HOSE] == datetime.date(2026, 12, 12)
    assert set(plan.parts.values_list("order_by", flat=True)) == {None}


def test_a_pinned_job_is_done_on_its_day_and_no_other(plan, today):
    job = plan.jobs.get(key="renew brake-fluid")
    change_job(job=job, version=job.version, changes={"pinned_on": THIRD}, today=today)
    plan = again(plan, today=today)
    assert days(plan)["renew brake-fluid"] == THIRD


def test_a_job_pinned_to_a_day_without_work_is_impossible_for_that_reason(plan, today):
    job = plan.jobs.get(key="renew brake-fluid")
    pinned = {"pinned_on": SUNDAY}
    change_job(job=job, version=job.version, changes=pinned, today=today)
    plan = again(plan, today=today)
    assert plan.state == "impossible"
    assert "the day booked for renew brake-fluid" in plan.result["conflict"]["words"]


def test_the_keepers_hours_beat_the_catalogues(plan, today):
    job = plan.jobs.get(key=HOSE)
    change_job(job=job, version=job.version, changes={"own_hours": Decimal(3)}, today=today)
    assert again(plan, today=today).jobs.get(key=HOSE).hours == 3


def test_a_plan_of_a_day_to_come_says_on_which_day_it_was_planned(now):
    spring = datetime.date(2027, 3, 1)
    plan = kept(two_axles(), now, starts_on=spring)
    assert (plan.starts_on, plan.planned_on) == (spring, TODAY)
    tomorrow = TODAY + datetime.timedelta(1)
    assert again(plan, today=tomorrow).planned_on == tomorrow


def test_a_part_for_a_day_to_come_is_not_to_be_ordered_now(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00", lead_days=2)
    sheets = planned(car, starts_on=datetime.date(2027, 3, 1))
    assert [order["now"] for order in as_dict(sheets)["orders"]] == [False] * 4


def test_a_wish_becomes_a_job_that_may_be_left_out(plan):
    ComponentFactory(vehicle=plan.vehicle, kind="paintwork")
    add_wish(plan=plan, draft=WishDraft(kind="paintwork", task="refinish", reason="left door"))
    job = again(plan).jobs.get(key="refinish paintwork")
    assert (job.optional, job.reason, job.state) == (True, "left door", "planned")


def test_a_hose_wished_for_is_renewed_with_its_mate_before_the_deadline(now):
    car = laid_up_car()
    fitted(car, "brake-hose", "front left", "front right", renewed=datetime.date(2026, 10, 1))
    fitted(car, "exhaust")
    plan = kept(car, now)
    add_wish(plan=plan, draft=WishDraft(kind="brake-hose", task="renew", position="front left"))
    plan = again(plan)
    assert plan.result["left_out"] == []
    renewed = plan.jobs.filter(kind="brake-hose", task="renew", state="planned")
    assert {job.position for job in renewed} == {"front left", "front right"}


def test_a_change_waits_for_the_next_planning(plan, today):
    job = plan.jobs.get(key=HOSE)
    change_job(job=job, version=job.version, changes={"own_hours": Decimal(3)}, today=today)
    assert RecommissioningPlan.objects.get(pk=plan.pk).state == "changed"


def test_a_plan_changed_during_the_search_is_not_written_over(plan, monkeypatch):
    def meanwhile(*args, **kwargs):
        do(plan, HOSE)
        return stored_solve(*args, **kwargs)

    stored_solve = stored.solve
    monkeypatch.setattr(stored, "solve", meanwhile)
    with pytest.raises(Outdated):
        again(plan)
    assert plan.jobs.get(key=HOSE).state == "done"


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"own_hours": Decimal(0)}, "/own_hours"),
        ({"other_cost": Decimal(-1)}, "/other_cost"),
        ({"optional": True}, "/optional"),
        ({"pinned_on": datetime.date(2026, 11, 1)}, "/pinned_on"),
    ],
)
def test_a_change_of_a_job_that_makes_no_sense_is_refused(plan, today, changes, pointer):
    job = plan.jobs.get(key=HOSE)
    told = refused(change_job, job=job, version=job.version, changes=changes, today=today)
    assert pointer in told
    assert plan.jobs.get(key=HOSE).own_hours is None


def test_a_job_is_done_once(plan):
    do(plan, HOSE)
    assert f"is done since {FIRST}" in refused(do, plan=plan, key=HOSE)[""]


def test_a_part_of_the_keepers_own_is_bought_with_the_job(plan, today):
    job = plan.jobs.get(key=HOSE)
    given = {"name": "copper washers", "price": Decimal("2.40"), "quantity": 2}
    add_part(job=job, given=given, today=today)
    assert again(plan, today=today).result["costs"]["total"] == 4.8


def test_a_part_can_not_come_before_it_is_ordered(plan, today):
    given = {"name": "hose", "price": Decimal(2), "ordered_on": today}
    early = given | {"arrives_on": today - datetime.timedelta(1)}
    assert "/arrives_on" in refused(add_part, job=plan.jobs.get(key=HOSE), given=early, today=today)


def test_a_plan_removed_leaves_the_history(plan):
    do(plan, HOSE)
    plan.refresh_from_db()
    stored.remove_plan(plan=plan, version=plan.version)
    assert not RecommissioningPlan.objects.exists()
    assert ServiceEvent.objects.filter(on=FIRST).exists()
