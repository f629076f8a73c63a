import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests.factories import CollectionFactory, VehicleFactory

pytestmark = pytest.mark.django_db


def run(*arguments):
    out = io.StringIO()
    call_command("export_history", *arguments, stdout=out)
    return out.getvalue()


def test_the_only_collection_is_exported_without_asking():
    car = VehicleFactory()
    assert json.loads(run())["vehicles"][0]["registration"] == car.registration


def test_one_of_several_collections_has_to_be_named():
    CollectionFactory.create_batch(2)
    with pytest.raises(CommandError) as refusal:
        run()
    assert refusal.value.returncode == 2


def test_a_named_collection_is_exported_and_no_other():
    car, _ = VehicleFactory.create_batch(2)
    document = json.loads(run("--collection", car.collection.name))
    assert [row["registration"] for row in document["vehicles"]] == [car.registration]


def test_one_car_is_exported_by_its_registration():
    first = VehicleFactory()
    VehicleFactory(collection=first.collection)
    assert len(json.loads(run("--vehicle", first.registration))["vehicles"]) == 1


def test_an_export_goes_to_a_file_that_imports_again(tmp_path):
    VehicleFactory()
    run("-o", str(tmp_path / "out.json"))
    out = io.StringIO()
    call_command("import_history", str(tmp_path / "out.json"), stdout=out)
    assert " 0 │             1" in out.getvalue()


def test_a_file_that_cannot_be_written_is_refused_with_status_2(tmp_path):
    VehicleFactory()
    with pytest.raises(CommandError) as refusal:
        run("-o", str(tmp_path / "absent" / "out.json"))
    assert refusal.value.returncode == 2
