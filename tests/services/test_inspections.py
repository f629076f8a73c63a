import pytest

from maintenance.models import Finding, Inspection
from maintenance.services.drafts import FindingDraft, InspectionDraft, Place
from maintenance.services.inspections import correct_inspection, record_inspection
from tests.factories import ComponentFactory, InspectionFactory
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
