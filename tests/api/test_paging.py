import datetime
import re

import pytest

from tests.factories import DueItemFactory, OdometerReadingFactory, VehicleFactory

pytestmark = pytest.mark.django_db


def walk(caller, address, between=lambda: None):
    """Follow `next` to the end and return the items of every page."""
    pages = []
    while address:
        page = caller.get(address).json()
        pages.append(page["items"])
        address = page["next"]
        between()
    return pages


def links(answer):
    found = re.findall(r'<([^>]*)>; rel="(\w+)"', answer["Link"])
    return {rel: address for address, rel in found}


def test_pages_hold_every_car_once(secretary, club):
    cars = {str(VehicleFactory(collection=club).id) for _ in range(7)}
    pages = walk(secretary, "vehicles?limit=3")
    assert [len(page) for page in pages] == [3, 3, 1]
    assert {item["id"] for page in pages for item in page} == cars


def test_pages_neither_skip_nor_repeat_while_cars_are_added(secretary, club):
    cars = [str(VehicleFactory(collection=club).id) for _ in range(6)]
    pages = walk(secretary, "vehicles?limit=2", lambda: VehicleFactory(collection=club))
    seen = [item["id"] for page in pages for item in page]
    assert len(seen) == len(set(seen))
    assert seen[:6] == cars


def test_due_items_that_share_every_ordered_column_are_all_seen(secretary, car):
    kinds = ["tyre", "coolant", "battery"]
    items = {str(DueItemFactory(component__vehicle=car, component__kind=k).id) for k in kinds}
    for component in car.components.all():
        items |= {str(DueItemFactory(component=component, vehicle=car).id) for _ in range(4)}
    seen = [item["id"] for page in walk(secretary, "due-items?limit=2") for item in page]
    assert sorted(seen) == sorted(items)


def test_due_items_come_gravest_first_and_then_by_day(secretary, car):
    def due(day, rank):
        DueItemFactory(
            component__vehicle=car,
            component__kind=f"kind-{rank}-{day}",
            criticality_rank=rank,
            due_on=day,
        )

    due("2026-01-01", 2), due("2027-02-02", 0), due("2027-01-01", 0), due("2026-06-01", 1)
    seen = [(i["criticality"], i["due_on"]) for i in secretary.items("due-items")]
    assert seen == [
        ("safety", "2027-01-01"),
        ("safety", "2027-02-02"),
        ("reliability", "2026-06-01"),
        ("appearance", "2026-01-01"),
    ]


def test_a_cars_readings_come_by_day_over_many_pages(secretary, car):
    first = datetime.date(2020, 1, 1)
    for days in (5, 3, 4, 1, 2):
        OdometerReadingFactory(vehicle=car, on=first + datetime.timedelta(days), value=days)
    pages = walk(secretary, f"odometer-readings?vehicle={car.id}&limit=2")
    assert [item["value"] for page in pages for item in page] == [1, 2, 3, 4, 5]


def test_the_page_before_can_be_had_again(secretary, club):
    for _ in range(5):
        VehicleFactory(collection=club)
    first = secretary.get("vehicles?limit=2")
    second = secretary.get(links(first)["next"])
    third = secretary.get(links(second)["next"])
    assert secretary.get(links(third)["prev"]).json()["items"] == second.json()["items"]
    again = secretary.get(links(second)["prev"])
    assert again.json()["items"] == first.json()["items"]
    assert "prev" not in links(again) and links(again)["next"]


def test_the_link_header_says_the_same_next_page_as_the_body(secretary, club):
    for _ in range(3):
        VehicleFactory(collection=club)
    answer = secretary.get("vehicles?limit=2")
    assert links(answer)["next"] == answer.json()["next"]
    last = secretary.get(answer.json()["next"])
    assert "next" not in links(last) and last.json()["next"] is None


def test_a_cursor_is_good_for_its_own_list_and_filters_only(secretary, club):
    for _ in range(3):
        VehicleFactory(collection=club)
    cursor = secretary.get("vehicles?limit=1").json()["next"].split("cursor=")[1]
    for address in (f"components?cursor={cursor}", f"vehicles?registration=A&cursor={cursor}"):
        answer = secretary.get(address)
        assert answer.status_code == 400
        assert answer.json()["type"] == "/api/v1/problems/invalid-cursor"


@pytest.mark.parametrize("cursor", ["x", "W10:abc", "WzBd:", "%00", "é"])
def test_a_cursor_made_by_hand_is_refused(secretary, cursor):
    assert secretary.get(f"vehicles?cursor={cursor}").status_code == 400


def test_an_empty_list_has_no_next_page(secretary):
    assert secretary.get("vehicles").json() == {"items": [], "next": None}


@pytest.mark.parametrize("limit", ["0001000", "000000", "0001" + "0" * 5000, "201", "0", "-1", "١"])
def test_a_limit_out_of_range_is_refused_however_it_is_written(secretary, limit):
    answer = secretary.get("vehicles", {"limit": limit})
    assert answer.status_code == 400
    assert [line["parameter"] for line in answer.json()["errors"]] == ["limit"]
    assert len(answer.json()["detail"]) < 200
