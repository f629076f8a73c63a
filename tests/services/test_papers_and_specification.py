import pytest

from maintenance.models import Paper, SpecificationLine
from maintenance.services.drafts import PaperDraft, SpecificationDraft
from maintenance.services.papers import add_paper, change_paper, remove_paper
from maintenance.services.specification import (
    add_specification_line,
    change_specification_line,
    remove_specification_line,
)
from tests.factories import PaperFactory, SpecificationLineFactory, VehicleFactory
from tests.services.asking import day, refused

pytestmark = pytest.mark.django_db


def test_a_paper_is_added(today):
    draft = PaperDraft(kind="insurance", until=day("2027-03-31"), number="A 7")
    assert add_paper(vehicle=VehicleFactory(), draft=draft, today=today).number == "A 7"


def test_an_unknown_kind_of_paper_is_refused_with_the_nearest_one(today):
    draft = PaperDraft(kind="insurence", until=day("2027-03-31"))
    problems = refused(add_paper, vehicle=VehicleFactory(), draft=draft, today=today)
    assert "'insurance'" in problems["/kind"]


def test_a_paper_runs_forward(today):
    draft = PaperDraft(kind="insurance", from_on=day("2027-04-01"), until=day("2027-03-31"))
    problems = refused(add_paper, vehicle=VehicleFactory(), draft=draft, today=today)
    assert set(problems) == {"/until"}


def test_the_same_paper_twice_is_refused(today):
    paper = PaperFactory(kind="insurance", number="A 7", until=day("2027-03-31"))
    draft = PaperDraft(kind="insurance", number="A 7", until=day("2027-03-31"))
    assert (
        "already" in refused(add_paper, vehicle=paper.vehicle, draft=draft, today=today)["/until"]
    )


def test_a_paper_is_changed_in_place(today):
    paper = PaperFactory()
    change_paper(paper=paper, version=1, changes={"until": day("2028-03-31")}, today=today)
    paper.refresh_from_db()
    assert (paper.until, paper.version) == (day("2028-03-31"), 2)


def test_a_paper_is_removed(today):
    remove_paper(paper=PaperFactory(), version=1, today=today)
    assert not Paper.objects.exists()


def test_a_line_of_the_sheet_names_its_page():
    draft = SpecificationDraft(item="valve clearance", value="0.30", unit="mm", handbook_page="41")
    add_specification_line(vehicle=VehicleFactory(), draft=draft)
    assert SpecificationLine.objects.get().handbook_page == "41"


def test_an_item_stands_once_on_the_sheet():
    line = SpecificationLineFactory(item="valve clearance")
    draft = SpecificationDraft(item="valve clearance", value="0.35")
    assert set(refused(add_specification_line, vehicle=line.vehicle, draft=draft)) == {"/item"}


def test_a_line_without_value_is_refused():
    draft = SpecificationDraft(item="valve clearance", value="")
    problems = refused(add_specification_line, vehicle=VehicleFactory(), draft=draft)
    assert set(problems) == {"/value"}


def test_a_line_is_changed_and_struck():
    line = SpecificationLineFactory()
    changed = change_specification_line(line=line, version=1, changes={"value": "2.1"})
    remove_specification_line(line=changed, version=2)
    assert not SpecificationLine.objects.exists()
