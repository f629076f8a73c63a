import json
from pathlib import Path

import pytest

from maintenance.models import Collection, OdometerReading, ServiceEvent, Vehicle
from maintenance.services.evidence import withdraw
from maintenance.services.history_file.export_history import as_text, export_history
from tests.factories import CollectionFactory
from tests.services.history_file.files import CAR, car, file_of, take
from tests.services.history_file.test_check import RULE

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[3] / "fixtures"


def exported():
    return export_history(collection=Collection.objects.order_by("id").last())


def test_a_car_comes_out_as_it_went_in(when):
    take(file_of(), when)
    assert exported()["vehicles"] == [CAR]


def test_a_rule_comes_out_with_what_it_is_for(when):
    take(file_of(interval_rules=[RULE | {"vehicle": "HM 77"}]), when)
    (rule,) = exported()["interval_rules"]
    assert RULE | {"vehicle": "HM 77"} == {key: rule[key] for key in (*RULE, "vehicle")}


@pytest.mark.parametrize("name", ["example-history.json", "demo-collection.json"])
def test_what_is_exported_and_imported_elsewhere_is_exported_equal(name, when):
    take(json.loads((FIXTURES / name).read_text(encoding="utf-8")), when)
    first = exported()
    take(first | {"collection": first["collection"] | {"name": "elsewhere"}}, when)
    assert export_history(collection=Collection.objects.get(name="elsewhere")) == first | {
        "collection": first["collection"] | {"name": "elsewhere"}
    }


def test_an_export_adds_nothing_where_it_came_from(when):
    take(file_of(interval_rules=[RULE]), when)
    report = take(exported(), when)
    assert not any(report.added.values())


def test_the_order_of_a_file_does_not_matter(when):
    readings = [{"on": "2026-03-01", "value": 9000}, {"on": "2026-03-01", "value": 10000}]
    take(file_of(car(odometer_readings=readings, service_events=[])), when)
    first = exported()
    backward = car(odometer_readings=readings[::-1], service_events=[])
    take(file_of(backward, collection=first["collection"] | {"name": "elsewhere"}), when)
    assert exported()["vehicles"] == first["vehicles"]


def test_withdrawn_and_corrected_records_are_not_exported(when):
    take(file_of(), when)
    withdraw(record=ServiceEvent.objects.get(), reason="of another car", **when)
    withdraw(record=OdometerReading.objects.get(), reason="of another car", **when)
    assert not {"service_events", "odometer_readings"} & set(exported()["vehicles"][0])


def test_one_car_is_exported_without_the_rules_of_others(when):
    rules = [RULE | {"vehicle": "HM 77"}, RULE | {"vehicle": "HM 78"}]
    take(file_of(car(), car(registration="HM 78"), interval_rules=rules), when)
    document = export_history(
        collection=Collection.objects.get(), vehicles=Vehicle.objects.filter(registration="HM 78")
    )
    assert [rule["vehicle"] for rule in document["interval_rules"]] == ["HM 78"]


def test_an_empty_collection_is_exported_as_one():
    assert export_history(collection=CollectionFactory())["vehicles"] == []


def test_letters_are_written_as_they_are(when):
    take(file_of(car(make="Öxl")), when)
    assert '"make": "Öxl"' in as_text(exported())
