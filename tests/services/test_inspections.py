import pytest

from maintenance.models import DueItem, Finding, Inspection
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place
from maintenance.services.inspections import correct_inspection, record_inspection
from maintenance.services.recompute import recompute_vehicles
from tests.factories import ComponentFactory, FindingFactory, InspectionFactory
from tests.services.asking import day, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    return ComponentFactory(kind="brake-pipe", position="rear").vehicle


def seen(result="pass", on="2026-05-20", **said):
    return InspectionDraft(on=day(on), result=result, **said)


def finding(category="major", kind="brake-pipe", position="rear"):
    return FindingDraft(place=Place(kind, position), category=category)


def test_a_failed_inspection_is_recorded_with_its_findings(car, when):
    draft = seen("fail", findings=(finding(), finding("advisory")))
    record_inspection(vehicle=car, draft=draft, **when)
    assert list(Finding.objects.order_by("sequence").values_list("category", flat=True)) == [
        "major",
        "advisory",
    ]


def test_a_failed_inspection_has_no_expiry(car, when):
    draft = seen("fail", expires_on=day("2027-05-19"))
    assert set(refused(record_inspection, vehicle=car, draft=draft, **when)) == {"/expires_on"}


def test_a_certificate_does_not_expire_before_its_inspection(car, when):
    draft = seen(expires_on=day("2026-05-19"))
    assert set(refused(record_inspection, vehicle=car, draft=draft, **when)) == {"/expires_on"}


@pytest.mark.parametrize("category", ["major", "dangerous"])
def test_a_grave_finding_is_no_finding_of_a_pass(car, when, category):
    draft = seen("pass", findings=(finding("minor"), finding(category)))
    said = refused(record_inspection, vehicle=car, draft=draft, **when)
    assert set(said) == {"/findings/1/category"}
    assert "correct the result or the category" in said["/findings/1/category"]


def test_a_pass_on_record_with_a_dangerous_finding_makes_it_due(car, when, today):
    hose = car.components.get()
    earlier = InspectionFactory(vehicle=car, on=day("2026-04-01"), result="fail")
    FindingFactory(inspection=earlier, component=hose)
    wrong = InspectionFactory(vehicle=car, on=day("2026-05-20"), expires_on=day("2027-05-19"))
    FindingFactory(inspection=wrong, component=hose, category="dangerous")
    recompute_vehicles(vehicles=[car], on=today)
    due = DueItem.objects.filter(vehicle=car, governed_by="finding").order_by("due_on")
    assert [item.due_on for item in due] == [day("2026-04-01"), day("2026-05-20")]


def test_every_fault_of_an_inspection_is_told_at_once(car, when):
    draft = seen("passed", "2026-12-01", findings=(finding("severe"), finding(position="front")))
    assert set(refused(record_inspection, vehicle=car, draft=draft, **when)) == {
        "/on",
        "/result",
        "/findings/0/category",
        "/findings/1/position",
    }


def test_a_corrected_inspection_stays_visible(car, when):
    wrong = InspectionFactory(vehicle=car, result="fail")
    right = correct_inspection(
        inspection=wrong, draft=seen("pass"), reason="passed after all", **when
    )
    assert list(Inspection.objects.filter(current=True)) == [right]
