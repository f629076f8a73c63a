"""What is printed, drawn and put into a calendar of a plan."""

import datetime
import io
import xml.etree.ElementTree as ElementTree

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from maintenance.catalogue.load import catalogue
from maintenance.services.plans.gantt import gantt
from maintenance.services.plans.job_sheet import job_sheet
from maintenance.services.plans.sheets import stored_sheets
from maintenance.services.plans.stored import plan_again
from maintenance.services.plans.working_days import working_days
from tests.services.asking import refused
from tests.services.plans.cars import FIRST, SECOND, kept, offer, two_axles

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheets(now):
    car = two_axles()
    offer(car, "brake-hose", "31.00", name="hose ęü", part_number="SR-2210", lead_days=2)
    return stored_sheets(kept(car, now))


def text_of(pdf):
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def events(sheets):
    calendar = Calendar.from_ical(working_days(sheets))
    return {str(event["SUMMARY"]): event for event in calendar.walk("VEVENT")}


def test_a_job_sheet_names_each_job_of_its_day_with_its_part(sheets):
    text = text_of(job_sheet(sheets, FIRST))
    assert "Saturday 28 November 2026" in text
    assert "Renew brake hose, rear left" in text
    assert "1 × hose ęü (SR-2210 Mere Lane Spares)" in text
    assert "Road test" not in text


def test_a_job_sheet_gives_each_caution_in_full(sheets):
    text = text_of(job_sheet(sheets, FIRST))
    for key in ("support", "brake-fluid", "braking"):
        assert catalogue().cautions[key].text in text


def test_figures_of_the_makers_handbook_are_left_blank(sheets):
    text = text_of(job_sheet(sheets, FIRST))
    for label in ("union torque", "lifting points", "bleed screw torque", "hours taken", "paid"):
        assert label in text


def test_without_a_day_there_is_a_sheet_for_every_working_day(sheets):
    text = text_of(job_sheet(sheets))
    assert "Saturday 28 November 2026" in text and "Saturday 5 December 2026" in text


def test_a_day_without_work_has_no_sheet(sheets):
    told = refused(job_sheet, sheets=sheets, on=datetime.date(2026, 11, 29))
    assert told["/on"] == (
        "no work is planned on 2026-11-29; days with work are: 2026-11-28, 2026-12-05"
    )


def test_the_same_plan_gives_the_same_papers(sheets):
    assert job_sheet(sheets) == job_sheet(sheets)
    assert gantt(sheets) == gantt(sheets)
    assert working_days(sheets) == working_days(sheets)


def test_the_drawing_names_every_job(sheets):
    # Matplotlib writes text as outlines, and what it says as a comment.
    drawn = gantt(sheets).decode()
    ElementTree.fromstring(drawn)
    for job in ("Renew brake hose, rear left", "Road test", "safety", "Sat 28 Nov 2026"):
        assert f"<!-- {job} -->" in drawn


def test_a_working_day_stands_in_the_calendar_from_its_first_to_its_last_job(sheets):
    day = events(sheets)[f"{sheets.plan.vehicle.registration}: 1 jobs"]
    assert day["DTSTART"].dt == datetime.datetime(2026, 12, 5, 9, tzinfo=datetime.UTC)
    assert day["DTEND"].dt == datetime.datetime(2026, 12, 5, 10, tzinfo=datetime.UTC)
    assert "Road test (Ada)" in day["DESCRIPTION"]


def test_orders_and_deliveries_stand_in_the_calendar(sheets):
    found = events(sheets)
    car = sheets.plan.vehicle.registration
    assert found[f"{car}: order 1 × hose ęü"]["DTSTART"].dt == FIRST - datetime.timedelta(2)
    assert found[f"{car}: delivery of 1 × hose ęü"]["DTSTART"].dt == FIRST


def test_a_day_keeps_its_place_in_the_calendar_when_the_plan_is_made_again(sheets, now):
    before = {event["UID"]: event["SEQUENCE"] for event in events(sheets).values()}
    plan = plan_again(plan=sheets.plan, today=now.date(), at=now)
    after = {event["UID"]: event["SEQUENCE"] for event in events(stored_sheets(plan)).values()}
    assert before.keys() == after.keys()
    assert all(after[uid] > before[uid] for uid in before)


def test_times_of_another_zone_are_given_as_instants(now):
    car = two_axles()
    car.collection.time_zone = "Asia/Tokyo"
    car.collection.save()
    sheets = stored_sheets(kept(car, now))
    starts = {event["DTSTART"].dt for event in events(sheets).values()}
    nine = datetime.datetime.combine(SECOND, datetime.time(0), datetime.UTC)
    assert nine in starts
