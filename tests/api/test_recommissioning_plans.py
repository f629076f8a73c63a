"""Plans over HTTP: made, followed and printed."""

import datetime

import pytest
from icalendar import Calendar

from maintenance.models import RecommissioningPlan
from tests.api.callers import Caller, pointers
from tests.factories import MemberFactory, VehicleFactory
from tests.services.plans.cars import offer, two_axles

pytestmark = pytest.mark.django_db

SATURDAYS = [{"weekday": "sat", "begins_at": "09:00", "ends_at": "16:00"}]


@pytest.fixture
def car(club):
    return two_axles(collection=club)


def terms(car, **said):
    people = [{"name": name, "hours": SATURDAYS} for name in ("Ada", "Ben")]
    return {"vehicle": str(car.pk), "by": "2027-03-31", "people": people} | said


@pytest.fixture
def plan(secretary, car):
    return secretary.post("recommissioning-plans", terms(car)).json()


def jobs(caller, plan, **query):
    found = caller.items("plan-jobs", {"plan": plan["id"], "limit": 100, **query})
    return {job["key"]: job for job in found}


def test_a_plan_is_made_with_its_jobs_in_the_order_of_days(secretary, plan):
    assert (plan["state"], plan["result"]["ready_on"]) == ("planned", "2026-12-05")
    found = list(jobs(secretary, plan).values())
    assert found[-1]["key"] == "road_test whole-car"
    assert [job["sequence"] for job in found] == sorted(job["sequence"] for job in found)
    assert found[0]["starts_at"].startswith("09:00")


def test_people_and_resources_are_answered_as_they_were_sent(secretary, car):
    # Without a lift the same work takes until the Saturday after.
    lift = {"name": "lift", "capacity": 1, "weekdays": ["sat"]}
    made = secretary.post("recommissioning-plans", terms(car, resources=[lift])).json()
    read = secretary.get(f"recommissioning-plans/{made['id']}").json()
    assert read["people"][0]["hours"] == SATURDAYS
    assert (read["resources"][0]["capacity"], read["resources"][0]["weekdays"]) == (1, ["sat"])
    assert read["result"]["ready_on"] == "2026-11-28"


def test_a_tool_says_what_it_is_used_for_and_one_that_nothing_can_use_is_refused(secretary, car):
    tool = {"name": "flaring tool", "used_for": ["brake-hose"]}
    made = secretary.post("recommissioning-plans", terms(car, resources=[tool])).json()
    assert made["resources"][0]["used_for"] == ["brake-hose"]
    refused = secretary.post("recommissioning-plans", terms(car, resources=[{"name": "crane"}]))
    assert pointers(refused) == {"/resources/0/name"}


def test_terms_that_make_no_sense_are_refused_by_their_place(secretary, car):
    hours = [{"weekday": "sat", "begins_at": "16:00", "ends_at": "09:00"}]
    answer = secretary.post(
        "recommissioning-plans", terms(car, people=[{"name": "Ada", "hours": hours}])
    )
    assert answer.status_code == 422
    assert pointers(answer) == {"/people/0/hours/0/ends_at"}


def test_an_unknown_weekday_is_answered_with_the_nearest(secretary, car):
    hours = [{"weekday": "sats", "begins_at": "09:00", "ends_at": "12:00"}]
    answer = secretary.post(
        "recommissioning-plans", terms(car, people=[{"name": "Ada", "hours": hours}])
    )
    assert "did you mean" in answer.json()["detail"] or "sat" in answer.json()["detail"]


def test_demands_that_can_not_hold_are_an_answer_and_no_refusal(secretary, car):
    offer(car, "brake-hose", "31.00", lead_days=60)
    answer = secretary.post("recommissioning-plans", terms(car, by="2026-12-20"))
    assert answer.status_code == 201
    assert answer.json()["state"] == "impossible"
    assert len(answer.json()["result"]["conflict"]["demands"]) == 2


def test_a_changed_deadline_waits_for_the_next_planning(secretary, plan):
    path = f"recommissioning-plans/{plan['id']}"
    changed = secretary.patch(path, {"by": "2027-01-31"}, If_Match="*").json()
    assert (changed["by"], changed["state"]) == ("2027-01-31", "changed")
    again = secretary.post(f"{path}/planning", {})
    assert again.status_code == 201
    assert again.json()["state"] == "planned"


def test_a_job_done_is_a_service_event_and_the_rest_is_planned_again(secretary, plan):
    job = jobs(secretary, plan)["raise axle front"]
    done = secretary.post(f"plan-jobs/{job['id']}/done", {"on": "2026-11-25", "hours": 1})
    assert (done.status_code, done.json()["state"]) == (201, "done")
    assert secretary.get(f"plan-jobs/{job['id']}").headers["ETag"] == done.headers["ETag"]
    event = secretary.get(f"service-events/{done.json()['service_event']}").json()
    assert event["note"] == "Raise axle, front"
    read = secretary.get(f"recommissioning-plans/{plan['id']}").json()
    assert (read["state"], read["result"]["estimates"]["hours_ratio"]) == ("planned", 2)


def test_a_job_done_is_answered_so_where_its_plan_is_removed_during_the_search(
    secretary, plan, monkeypatch
):
    job = jobs(secretary, plan)["raise axle front"]

    def removed(**asked):
        RecommissioningPlan.objects.get().delete()
        raise RecommissioningPlan.DoesNotExist

    monkeypatch.setattr("maintenance.services.plans.jobs.plan_again", removed)
    done = secretary.post(f"plan-jobs/{job['id']}/done", {"on": "2026-11-25"})
    assert (done.status_code, done.json()["state"]) == (201, "done")
    assert secretary.get(f"plan-jobs/{job['id']}").status_code == 404
    assert secretary.get(f"service-events/{done.json()['service_event']}").status_code == 200


def test_several_jobs_done_are_marked_before_the_rest_is_planned_again(secretary, plan):
    job = jobs(secretary, plan)["raise axle front"]
    body = {"on": "2026-11-25", "plan_again": False}
    assert secretary.post(f"plan-jobs/{job['id']}/done", body).status_code == 201
    assert secretary.get(f"recommissioning-plans/{plan['id']}").json()["state"] == "changed"


def test_a_job_done_tomorrow_is_refused(secretary, plan):
    job = jobs(secretary, plan)["raise axle front"]
    answer = secretary.post(f"plan-jobs/{job['id']}/done", {"on": "2026-11-26"})
    assert pointers(answer) == {"/on"}


def test_what_is_to_be_ordered_is_listed_and_ticked_off(secretary, car):
    offer(car, "brake-hose", "31.00", lead_days=5)
    made = secretary.post("recommissioning-plans", terms(car)).json()
    query = {"plan": made["id"], "to_order": "true"}
    [part, *others] = secretary.items("plan-parts", query)
    assert len(others) == 3 and part["order_by"] is not None
    changed = secretary.patch(
        f"plan-parts/{part['id']}", {"ordered_on": "2026-11-25"}, If_Match="*"
    )
    assert changed.status_code == 200
    secretary.post(f"recommissioning-plans/{made['id']}/planning", {})
    assert len(secretary.items("plan-parts", query)) == 3


def test_a_part_is_added_to_a_job_and_taken_off_it(secretary, plan):
    job = jobs(secretary, plan)["renew brake-hose front left"]
    part = secretary.post("plan-parts", {"job": job["id"], "name": "washers", "price": 2}).json()
    assert (part["plan"], part["currency"]) == (plan["id"], "")
    gone = secretary.delete(f"plan-parts/{part['id']}", If_Match="*")
    assert gone.status_code == 204


def test_a_safety_job_is_not_made_optional(secretary, plan):
    job = jobs(secretary, plan)["renew brake-hose front left"]
    answer = secretary.patch(f"plan-jobs/{job['id']}", {"optional": True}, If_Match="*")
    assert pointers(answer) == {"/optional"}


def test_a_wish_for_a_component_that_the_car_has_not_is_refused(secretary, plan):
    wish = {"kind": "paintwork", "task": "refinish"}
    answer = secretary.post(f"recommissioning-plans/{plan['id']}/wishes", wish)
    assert pointers(answer) == {"/kind"}


def test_the_job_sheet_is_a_pdf_of_one_day(secretary, plan):
    path = f"recommissioning-plans/{plan['id']}/job-sheet.pdf"
    answer = secretary.get(path, {"on": "2026-11-28"})
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    assert (
        secretary.get(path, {"on": "2026-11-28"}, If_None_Match=answer["ETag"]).status_code == 304
    )
    assert secretary.get(path, {"on": "2026-11-29"}).status_code == 422
    assert secretary.get(path, {"on": "Saturday"}).status_code == 400


def test_the_drawing_is_svg_that_runs_no_script(secretary, plan):
    answer = secretary.get(f"recommissioning-plans/{plan['id']}/gantt.svg")
    assert answer["Content-Type"] == "image/svg+xml"
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert b"<svg" in answer.content


def test_the_calendar_is_read_by_its_program(secretary, plan):
    answer = secretary.get(f"recommissioning-plans/{plan['id']}/calendar.ics")
    assert answer["Content-Type"].startswith("text/calendar")
    days = {event["DTSTART"].dt.date() for event in Calendar.from_ical(answer.content).events}
    assert datetime.date(2026, 11, 28) in days


@pytest.mark.parametrize("role", ["viewer", "keeper"])
def test_who_may_not_record_on_the_car_plans_nothing_for_it(club, car, role):
    caller = Caller(MemberFactory(collection=club, role=role).account)
    answer = caller.post("recommissioning-plans", terms(car))
    assert answer.status_code in (403, 422)
    assert not RecommissioningPlan.objects.exists()


def test_a_keeper_plans_for_their_own_car(club, car):
    keeper = MemberFactory(collection=club, role="keeper")
    car.keeper = keeper
    car.save()
    assert Caller(keeper.account).post("recommissioning-plans", terms(car)).status_code == 201


def test_a_viewer_reads_a_plan_and_changes_nothing_of_it(club, secretary, plan):
    viewer = Caller(MemberFactory(collection=club, role="viewer").account)
    job = jobs(viewer, plan)["raise axle front"]
    assert viewer.get(f"recommissioning-plans/{plan['id']}/gantt.svg").status_code == 200
    path = f"recommissioning-plans/{plan['id']}"
    for answer in (
        viewer.post(f"{path}/planning", {}),
        viewer.post(f"{path}/wishes", {"kind": "tyre", "task": "renew"}),
        viewer.post(f"plan-jobs/{job['id']}/done", {"on": "2026-11-25"}),
        viewer.post("plan-parts", {"job": job["id"], "name": "washers", "price": 2}),
        viewer.patch(f"plan-jobs/{job['id']}", {"own_hours": 2}, If_Match="*"),
        viewer.delete(path, If_Match="*"),
    ):
        assert answer.status_code == 403


def test_another_clubs_plan_is_as_if_it_were_not_there(stranger, secretary, plan):
    job = jobs(secretary, plan)["raise axle front"]
    path = f"recommissioning-plans/{plan['id']}"
    assert stranger.get(f"{path}/job-sheet.pdf").status_code == 404
    assert stranger.get(f"{path}/calendar.ics").status_code == 404
    assert stranger.post(f"{path}/planning", {}).status_code == 404
    assert stranger.post(f"plan-jobs/{job['id']}/done", {"on": "2026-11-25"}).status_code == 404
    part = {"job": job["id"], "name": "washers", "price": 2}
    assert pointers(stranger.post("plan-parts", part)) == {"/job"}


def test_a_price_list_is_seen_by_every_member_and_kept_by_officers(club, secretary, stranger):
    body = {"collection": str(club.pk), "kind": "brake-hose", "name": "hose", "price": 31}
    made = secretary.post("part-offers", body | {"currency": "EUR"})
    assert made.status_code == 201
    keeper = Caller(MemberFactory(collection=club, role="keeper").account)
    path = f"part-offers/{made.json()['id']}"
    assert keeper.get(path).json()["price"] == 31
    assert keeper.patch(path, {"price": 1}, If_Match="*").status_code == 403
    assert stranger.get(path).status_code == 404
    assert secretary.patch(path, {"price": 33.5}, If_Match="*").json()["price"] == 33.5
    assert secretary.delete(path, If_Match="*").status_code == 204


def test_visits_are_planned_and_nothing_is_kept(secretary, club, car):
    answer = secretary.post("visit-plans", {"collection": str(club.pk), "months": 12})
    assert answer.status_code == 200
    assert answer.json()["laid_up_for_unknown_time"] == [car.registration]


def test_a_car_that_left_is_planned_and_asked_about_no_more(secretary, club, car, plan):
    gone = {"vehicle": str(car.pk), "on": "2026-11-20", "how": "sold"}
    assert secretary.post("departures", gone).status_code == 201
    trip = {"from": "2026-12-01", "to": "2026-12-02", "distance": 10}
    for path, body in (
        ("recommissioning-plans", terms(car)),
        (f"recommissioning-plans/{plan['id']}/planning", {}),
        ("visit-plans", {"vehicle": str(car.pk)}),
        (f"vehicles/{car.pk}/trip-check", trip),
        (f"vehicles/{car.pk}/projection", {}),
    ):
        answer = secretary.post(path, body)
        assert (answer.status_code, "has left" in answer.json()["detail"]) == (422, True)
    assert secretary.get(f"recommissioning-plans/{plan['id']}").json()["state"] == "planned"


def test_visits_of_a_collection_pass_over_a_car_that_left(secretary, club, car):
    VehicleFactory(collection=club)
    gone = {"vehicle": str(car.pk), "on": "2026-11-20", "how": "sold"}
    assert secretary.post("departures", gone).status_code == 201
    found = secretary.post("visit-plans", {"collection": str(club.pk)}).json()
    assert found["laid_up_for_unknown_time"] == []


def test_visits_are_for_a_collection_or_a_car(secretary, club, car):
    both = {"collection": str(club.pk), "vehicle": str(car.pk)}
    assert secretary.post("visit-plans", both).status_code == 422
    assert secretary.post("visit-plans", {}).status_code == 422


def test_visits_of_another_clubs_cars_are_not_planned(stranger, club, car):
    assert pointers(stranger.post("visit-plans", {"collection": str(club.pk)})) == {"/collection"}
    assert pointers(stranger.post("visit-plans", {"vehicle": str(car.pk)})) == {"/vehicle"}
