import io
import json

import pytest
from django.core.management import CommandError, call_command

from maintenance.models import Collection, Vehicle
from tests.services.history_file.files import car, file_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def history(tmp_path):
    """Write a document, or bytes, to a file and return its path."""

    def written(document):
        path = tmp_path / "history.json"
        path.write_bytes(document if isinstance(document, bytes) else json.dumps(document).encode())
        return str(path)

    return written


def run(*arguments):
    out, err = io.StringIO(), io.StringIO()
    call_command("import_history", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def refused(*arguments):
    err = io.StringIO()
    with pytest.raises(CommandError) as refusal:
        call_command("import_history", *arguments, stdout=io.StringIO(), stderr=err)
    assert not Vehicle.objects.exists()
    return refusal.value, err.getvalue().splitlines()


def test_the_summary_says_what_was_added_within_100_columns(history):
    out, _ = run(history(file_of()))
    assert "service events" in out
    assert max(map(len, out.splitlines())) <= 100


def test_a_dry_run_adds_nothing_and_says_so(history):
    out, _ = run(history(file_of()), "--dry-run")
    assert "would be added" in out
    assert not Collection.objects.exists()


def test_every_error_has_a_line_with_its_pointer_and_the_status_is_2(history):
    path = history(file_of(car(make="", odometer_unit="kms")))
    error, lines = refused(path)
    assert [line.split(":")[0] for line in lines] == [
        "/vehicles/0/make",
        "/vehicles/0/odometer_unit",
    ]
    assert error.returncode == 2


@pytest.mark.parametrize(
    ("raw", "errors"),
    [
        (b"\xff\xfe", 1),
        (b"{", 1),
        (b"[]", 1),
        (b'{"vehicles": NaN}', 2),
        (b'{"a":1,"a":2}', 3),
    ],
)
def test_a_file_that_is_no_history_is_refused_with_status_2(raw, errors, history):
    error, lines = refused(history(raw))
    assert (error.returncode, len(lines)) == (2, errors)


def test_a_file_of_50_megabytes_is_refused(history):
    _, lines = refused(history(b" " * 50 * 1024 * 1024))
    assert "HISTORY_FILE_LIMIT" in lines[0]


def test_a_file_that_is_not_there_is_refused_with_status_2(tmp_path):
    error, _ = refused(str(tmp_path / "absent.json"))
    assert (error.returncode, "cannot be read" in str(error)) == (2, True)


def test_a_collection_may_be_named_on_the_command_line(history):
    run(history(file_of()), "--collection", "Vennay")
    assert Collection.objects.get().name == "Vennay"


def test_a_file_without_a_collection_goes_into_the_one_named(history):
    document = file_of()
    del document["collection"]
    run(history(document), "--collection", "Vennay")
    assert Vehicle.objects.get().collection.name == "Vennay"


def test_a_warning_goes_to_standard_error(history):
    twice = car(odometer_readings=[{"on": "2026-03-01", "value": 48000}] * 2)
    out, err = run(history(file_of(twice)))
    assert err.startswith("Note: /vehicles/0/odometer_readings/1")


@pytest.mark.parametrize("zone", [5, [], "../etc", "Mars/Base", None])
def test_a_time_zone_that_is_none_is_refused_and_not_stumbled_over(zone, history):
    document = file_of(collection={"name": "Vennay", "time_zone": zone})
    if zone is None:
        assert run(history(document))
    else:
        assert refused(history(document))[1][0].startswith("/collection/time_zone")


def test_a_number_that_is_none_hides_no_other_error(history):
    raw = b'{"vehicles": [{"registration": "EX-9", "odometer_digits": NaN}], "rules": []}'
    _, lines = refused(history(raw))
    pointers = [line.split(":")[0] for line in lines]
    assert pointers[0] == "/vehicles/0/odometer_digits"
    assert "/rules" in pointers
    assert len(pointers) == len(set(pointers))
