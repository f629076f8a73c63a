import json
from pathlib import Path

import pytest

from maintenance.models import (
    Collection,
    Component,
    DueItem,
    IntervalRule,
    LayUp,
    Member,
    OdometerReading,
    ServiceEvent,
    Vehicle,
)
from maintenance.services.evidence import withdraw
from maintenance.services.lay_ups import end_lay_up
from maintenance.services.odometer import correct_reading
from maintenance.services.refusals import Refused
from tests.factories import AccountFactory, CollectionFactory, MemberFactory
from tests.services.asking import day
from tests.services.history_file.files import car, file_of, take
from tests.services.history_file.test_check import RULE
from tests.services.test_odometer import reading

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[3] / "fixtures"


def added(report):
    return {noun: count for noun, count in report.added.items() if count}


def test_a_file_is_imported_with_all_it_holds(when):
    assert added(take(file_of(interval_rules=[RULE]), when)) == {
        "collections": 1,
        "vehicles": 1,
        "components": 4,
        "odometer_readings": 1,
        "lay_ups": 1,
        "service_events": 1,
        "interval_rules": 1,
    }


def test_an_imported_car_has_due_items(when):
    take(file_of(), when)
    assert DueItem.objects.filter(kind="brake-fluid", due_on=day("2028-05-01")).exists()


def test_the_same_file_twice_adds_nothing(when):
    take(file_of(interval_rules=[RULE]), when)
    report = take(file_of(interval_rules=[RULE]), when)
    assert (added(report), report.already_there["service_events"]) == ({}, 1)


def test_a_file_with_one_more_record_adds_just_that(when):
    take(file_of(), when)
    more = car()
    more["odometer_readings"].append({"on": "2026-11-01", "value": 48500})
    assert added(take(file_of(more), when)) == {"odometer_readings": 1}


def test_a_car_is_the_same_with_and_without_blanks_in_its_plate(when):
    take(file_of(), when)
    assert added(take(file_of(car(registration="hm77")), when)) == {}
    assert Vehicle.objects.get().registration == "HM 77"


def test_two_equal_readings_in_a_file_are_two_readings_and_stay_two(when):
    twice = car(odometer_readings=[{"on": "2026-03-01", "value": 48000}] * 2)
    report = take(file_of(twice), when)
    take(file_of(twice), when)
    assert (OdometerReading.objects.count(), len(report.warnings)) == (2, 1)


def test_a_dry_run_says_what_would_be_added_and_adds_nothing(when):
    report = take(file_of(), when, dry_run=True)
    assert report.added["vehicles"] == 1
    assert not Collection.objects.exists()


def test_one_error_keeps_all_cars_out(when):
    with pytest.raises(Refused):
        take(file_of(car(), car(registration="HM 78", make="")), when)
    assert not Vehicle.objects.exists()


def test_a_corrected_reading_is_not_brought_back_by_the_old_file(when):
    take(file_of(), when)
    correct_reading(
        reading=OdometerReading.objects.get(),
        draft=reading("2026-03-01", 47900),
        reason="misread",
        **when,
    )
    assert added(take(file_of(), when)) == {}


def test_a_withdrawn_event_is_not_brought_back_by_the_old_file(when):
    take(file_of(), when)
    withdraw(record=ServiceEvent.objects.get(), reason="of another car", **when)
    assert added(take(file_of(), when)) == {}


def laid_up(**said):
    return car(lay_ups=[{"from": "2026-10-01", "storage": "dry"} | said])


def test_a_file_that_tells_the_end_of_an_open_lay_up_ends_it(when):
    take(file_of(laid_up()), when)
    assert added(take(file_of(laid_up(to="2026-11-20")), when)) == {"lay_ups": 1}
    assert LayUp.objects.get(current=True).to_on == day("2026-11-20")


def test_a_file_from_before_the_end_of_a_lay_up_does_not_open_it_again(when):
    take(file_of(laid_up()), when)
    end_lay_up(vehicle=Vehicle.objects.get(), on=day("2026-11-20"), **when)
    assert added(take(file_of(laid_up()), when)) == {}


def test_another_description_of_a_car_is_refused_and_changes_nothing(when):
    take(file_of(), when)
    with pytest.raises(Refused) as refused:
        take(file_of(car(model="Swift")), when)
    assert [problem.pointer for problem in refused.value.problems] == ["/vehicles/0/model"]


def test_a_file_may_leave_out_what_the_collection_knows_of_a_car(when):
    take(file_of(car(chassis_number="H 1", nominal_voltage=12)), when)
    assert added(take(file_of(), when)) == {}


def test_a_new_reading_that_contradicts_a_stored_one_is_refused(when):
    take(file_of(), when)
    with pytest.raises(Refused) as refused:
        take(file_of(car(odometer_readings=[{"on": "2026-11-01", "value": 47000}])), when)
    assert "service event of 2026-05-01" in refused.value.problems[0].message


def test_a_new_lay_up_that_overlaps_a_stored_one_is_refused(when):
    take(file_of(), when)
    overlapping = [{"from": "2026-02-01", "to": "2026-04-01", "storage": "damp"}]
    with pytest.raises(Refused) as refused:
        take(file_of(car(lay_ups=overlapping)), when)
    assert refused.value.problems[0].pointer == "/vehicles/0/lay_ups/0"


def test_an_entry_may_name_a_component_that_only_the_collection_knows(when):
    take(file_of(), when)
    entry = {"kind": "brake-fluid", "action": "inspect"}
    later = car(components=[], service_events=[{"on": "2026-11-01", "entries": [entry]}])
    assert added(take(file_of(later), when)) == {"service_events": 1}


def renewed(*carried_over):
    entry = {"kind": "half-shaft", "position": "left", "action": "renew"}
    entry["carried_over"] = list(carried_over)
    return car(service_events=[{"on": "2026-06-01", "entries": [entry]}])


@pytest.mark.parametrize(
    "boot",
    ["half-shaft-boot", {"kind": "half-shaft-boot", "position": "left outer"}],
)
def test_a_part_carried_over_is_named_by_kind_or_by_place(boot, when):
    take(file_of(renewed(boot)), when)
    carried = ServiceEvent.objects.get().entries.get().carried_over.get()
    assert carried.component == Component.objects.get(kind="half-shaft-boot")


def test_a_rule_may_name_a_car_of_the_collection_that_is_not_in_the_file(when):
    take(file_of(), when)
    document = file_of(interval_rules=[RULE | {"vehicle": "HM 77"}], vehicles=[])
    assert added(take(document, when)) == {"interval_rules": 1}


def test_another_rule_in_the_place_of_a_stored_one_is_refused(when):
    take(file_of(interval_rules=[RULE]), when)
    with pytest.raises(Refused) as refused:
        take(file_of(interval_rules=[RULE | {"months": 6}]), when)
    assert refused.value.problems[0].pointer == "/interval_rules/0/task"


def test_a_rule_of_the_collection_moves_due_days_of_cars_outside_the_file(when):
    take(file_of(), when)
    take(file_of(interval_rules=[RULE], vehicles=[]), when)
    item = DueItem.objects.get(kind="brake-fluid", task="renew")
    assert (item.due_on, IntervalRule.objects.get().months) == (day("2027-05-01"), 12)


def test_a_rule_for_a_kind_that_its_car_does_not_have_is_noted(when):
    rule = RULE | {"kind": "coolant", "vehicle": "HM 77"}
    assert "does nothing yet" in take(file_of(interval_rules=[rule]), when).warnings[0]


def test_a_wrong_check_digit_is_noted(when):
    odd = car(built_on="1989-01-01", first_registered_on=None, chassis_number="1M8GDM9A0KP042788")
    odd |= {"odometer_readings": []}
    assert "ninth place" in take(file_of(odd), when).warnings[0]


def test_who_founds_a_collection_by_a_file_becomes_its_secretary(when):
    account = AccountFactory()
    take(file_of(), when | {"by": account})
    assert Member.objects.get().role == "secretary"


def test_a_file_does_not_reach_another_clubs_collection_of_that_name(when):
    CollectionFactory(name="Harrowmere", time_zone="Europe/Lisbon")
    report = take(file_of(), when | {"by": AccountFactory()})
    assert report.added["collections"] == 1


def test_a_keeper_cannot_import_into_the_clubs_collection(when):
    club = CollectionFactory(name="Harrowmere", time_zone="Europe/Lisbon")
    keeper = MemberFactory(collection=club, role="keeper")
    take(file_of(), when | {"by": keeper.account})
    assert not Vehicle.objects.filter(collection=club).exists()


def test_two_collections_of_one_name_need_to_be_told_apart(when):
    CollectionFactory(name="Harrowmere")
    CollectionFactory(name="Harrowmere")
    with pytest.raises(Refused) as refused:
        take(file_of(), when)
    assert refused.value.problems[0].pointer == "/collection/name"


def test_a_collection_keeps_its_time_zone(when):
    CollectionFactory(name="Harrowmere", time_zone="Europe/Oslo")
    with pytest.raises(Refused) as refused:
        take(file_of(), when)
    assert refused.value.problems[0].pointer == "/collection/time_zone"


def test_a_file_goes_into_the_collection_that_is_given(when):
    club = CollectionFactory()
    take(file_of(collection=None), when, collection=club)
    assert Vehicle.objects.get().collection == club


def test_progress_is_told_of_every_car(when):
    done = []
    take(file_of(car(), car(registration="HM 78")), when, progress=done.append)
    assert sum(done) == 2


@pytest.mark.parametrize("name", ["example-history.json", "demo-collection.json"])
def test_the_files_that_come_along_import_and_a_second_time_add_nothing(name, when):
    document = json.loads((FIXTURES / name).read_text(encoding="utf-8"))
    take(document, when)
    assert added(take(document, when)) == {}
