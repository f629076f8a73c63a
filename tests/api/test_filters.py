import pytest

from tests.factories import DueItemFactory, PaperFactory, VehicleFactory

pytestmark = pytest.mark.django_db


def said(answer):
    assert answer.status_code == 400
    assert answer.json()["type"] == "/api/v1/problems/invalid-query"
    return {line["parameter"]: line["detail"] for line in answer.json()["errors"]}


def test_a_misspelt_parameter_is_refused_with_the_nearest_one(secretary):
    assert "'status'" in said(secretary.get("due-items", {"staus": "overdue"}))["staus"]


def test_a_parameter_unlike_any_is_refused_with_those_there_are(secretary):
    assert "registration" in said(secretary.get("vehicles", {"zzz": "1"}))["zzz"]


def test_a_single_car_takes_no_parameters(secretary, car):
    assert "takes none" in said(secretary.get(f"vehicles/{car.id}", {"q": "1"}))["q"]


def test_an_unknown_status_is_refused_by_name(secretary):
    assert "late" in said(secretary.get("due-items", {"status": "late"}))["status"]


def test_a_day_that_is_none_is_refused_by_name(secretary):
    assert said(secretary.get("due-items", {"due_before": "31/12/2026"}))["due_before"]


def test_an_identifier_that_is_none_is_refused_by_name(secretary):
    assert said(secretary.get("components", {"vehicle": "HM 1"}))["vehicle"]


@pytest.mark.parametrize("limit", ["0", "201", "-1", "ten", "١"])
def test_a_limit_beyond_the_page_is_refused(secretary, limit):
    assert "1 to 200" in said(secretary.get("vehicles", {"limit": limit}))["limit"]


def test_a_parameter_given_twice_is_refused(secretary):
    answer = secretary.get("/api/v1/due-items?status=overdue&status=in_date")
    assert "more than once" in said(answer)["status"]


def test_a_parameter_without_a_value_is_refused(secretary):
    assert "empty" in said(secretary.get("/api/v1/due-items?status="))["status"]


def test_due_items_are_narrowed_by_what_they_are_about(secretary, car):
    wanted = DueItemFactory(
        component__vehicle=car, component__kind="coolant", governed_by="distance"
    )
    DueItemFactory(component__vehicle=car, component__kind="tyre")
    for query in (
        {"component_kind": "coolant"},
        {"governed_by": "distance"},
        {"vehicle": car.id, "component_kind": "coolant"},
    ):
        assert [item["id"] for item in secretary.items("due-items", query)] == [str(wanted.id)]


def test_due_items_are_narrowed_by_criticality(secretary, car):
    DueItemFactory(component__vehicle=car, component__kind="tyre", criticality_rank=0)
    DueItemFactory(component__vehicle=car, component__kind="bumper", criticality_rank=2)
    items = secretary.items("due-items", {"criticality": "appearance"})
    assert [item["component_kind"] for item in items] == ["bumper"]


def test_what_has_no_record_is_due_before_any_day_to_come(secretary, car):
    DueItemFactory(component__vehicle=car, due_on=None, order_day="2026-01-01", no_record=True)
    asked = {"status": "no_record"}
    assert secretary.items("due-items", asked | {"due_before": "2099-01-01"})
    assert not secretary.items("due-items", asked | {"due_before": "2020-01-01"})


def test_due_before_a_day_leaves_that_day_out(secretary, car):
    DueItemFactory(component__vehicle=car, due_on="2026-12-30", order_day="2026-12-30")
    assert secretary.items("due-items", {"due_before": "2026-12-31"})
    assert not secretary.items("due-items", {"due_before": "2026-12-30"})


def test_the_status_of_today_can_be_asked_for(secretary, car):
    late = DueItemFactory(component__vehicle=car, overdue_from="2026-11-25")
    DueItemFactory(component__vehicle=car, component__kind="tyre", overdue_from="2026-11-26")
    items = secretary.items("due-items", {"status": "overdue"})
    assert [item["id"] for item in items] == [str(late.id)]


def test_cars_are_found_by_registration(secretary, club, car):
    VehicleFactory(collection=club)
    mark = car.registration
    for written in (mark, mark.lower(), mark.replace(" ", ""), f" {mark.replace(' ', '  ')} "):
        found = secretary.items("vehicles", {"registration": written})
        assert [each["id"] for each in found] == [str(car.id)]
    assert secretary.items("vehicles", {"registration": mark[:-1]}) == []


def test_papers_are_narrowed_by_kind(secretary, car):
    PaperFactory(vehicle=car, kind="insurance")
    PaperFactory(vehicle=car, kind="vehicle-tax")
    found = secretary.items("papers", {"kind": "vehicle-tax"})
    assert [each["kind"] for each in found] == ["vehicle-tax"]


@pytest.mark.parametrize("wrong", ["webhooks?disabled=AAA", "component-kinds?system=brake"])
def test_a_word_that_a_filter_does_not_know_is_refused(secretary, wrong):
    assert secretary.get(wrong).status_code == 400


def test_a_flag_is_true_or_false_and_nothing_else(secretary):
    answer = secretary.get("service-events", {"superseded": "yes"})
    assert "neither" in said(answer)["superseded"]
