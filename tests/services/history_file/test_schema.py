import json
from pathlib import Path

import jsonschema
import pytest

from maintenance.services.history_file.schema import history_schema, schema_text
from tests.services.history_file.files import car, file_of

FIXTURES = Path(__file__).parents[3] / "fixtures"
VALIDATOR = jsonschema.Draft202012Validator(history_schema())


def test_the_published_schema_is_the_one_the_code_gives():
    # To renew it: python -m maintenance.services.history_file.schema > fixtures/history.schema.json
    assert (FIXTURES / "history.schema.json").read_text(encoding="utf-8") == schema_text()


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(history_schema())


@pytest.mark.parametrize("name", ["example-history.json", "demo-collection.json"])
def test_the_files_that_come_along_keep_to_the_schema(name):
    document = json.loads((FIXTURES / name).read_text(encoding="utf-8"))
    assert list(VALIDATOR.iter_errors(document)) == []


@pytest.mark.parametrize(
    "document",
    [
        {},
        file_of(vehicels=[]),
        file_of(car(odometer_unit="kms")),
        file_of(car(odometer_digits=7)),
        file_of(car(lay_ups=[{"storage": "dry"}])),
        file_of(car(service_events=[{"on": "May 2019"}])),
    ],
)
def test_what_the_import_refuses_for_its_shape_the_schema_refuses(document):
    assert not VALIDATOR.is_valid(document)
