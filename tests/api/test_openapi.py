import json

import jsonschema
import pytest
from django.core.management import call_command
from django.test import Client
from rest_framework import serializers

from api.urls import BETWEEN_PEOPLE, FEEDS, NOUNS, OF_COLLECTIONS, OF_MEMBERS, QUESTIONS
from tests.api.callers import pointers
from tests.api.test_access import furnished

pytestmark = pytest.mark.django_db


#: Answers everybody alike.
ROOT = "/api/v1"


def operations(document):
    for path, item in document["paths"].items():
        for method, operation in item.items():
            if method in ("get", "post", "patch", "delete"):
                yield path, method, operation


def contents(operation):
    """Yield every body an operation takes or answers, with where it stands."""
    for media in operation.get("requestBody", {}).get("content", {}).values():
        yield "request", media
    for status, answer in operation["responses"].items():
        for media in answer.get("content", {}).values():
            yield status, media


def broken(document, schema, value):
    """Return what keeps a value from being what a schema of the document says."""
    whole = schema | {"components": document["components"]}
    checker = jsonschema.FormatChecker()
    validator = jsonschema.Draft202012Validator(whole, format_checker=checker)
    return [error.message for error in validator.iter_errors(value)]


def test_the_document_is_drawn_without_a_warning(tmp_path):
    file = tmp_path / "openapi.json"
    call_command(
        "spectacular", "--validate", "--fail-on-warn", "--format=openapi-json", f"--file={file}"
    )
    assert json.loads(file.read_text())["openapi"].startswith("3.1.")


def test_no_word_of_an_older_version_is_left_in_the_document(document):
    assert '"nullable"' not in json.dumps(document)


def test_every_noun_has_its_operations_in_the_document(document):
    listed = {path.split("/")[3] for path, _, _ in operations(document) if path != ROOT}
    assert listed == set(NOUNS | OF_COLLECTIONS | FEEDS | QUESTIONS | OF_MEMBERS | BETWEEN_PEOPLE)


def test_every_operation_has_a_summary_a_tag_and_a_name_of_its_own(document):
    found = [operation for _, _, operation in operations(document)]
    assert all(operation["summary"] and operation["tags"] for operation in found)
    names = [operation["operationId"] for operation in found]
    assert len(names) == len(set(names)) > 40


def test_every_body_of_every_operation_has_an_example(document):
    bare = [
        (method, path, where)
        for path, method, operation in operations(document)
        for where, media in contents(operation)
        if not media.get("examples")
    ]
    assert bare == []


def test_every_example_is_what_its_schema_says(document):
    wrong = [
        (method, path, where, error)
        for path, method, operation in operations(document)
        for where, media in contents(operation)
        for example in media["examples"].values()
        for error in broken(document, media["schema"], example["value"])
    ]
    assert wrong == []


def test_every_refusal_is_problem_details_with_its_own_status(document):
    for path, _, operation in operations(document):
        refusals = {s: a for s, a in operation["responses"].items() if s >= "400"}
        assert {"400", *({"401", "403"} if path != ROOT else ())} <= refusals.keys()
        for status, answer in refusals.items():
            [example, *_] = answer["content"]["application/problem+json"]["examples"].values()
            assert str(example["value"]["status"]) == status


def test_every_change_names_the_version_it_changes(document):
    for _, method, operation in operations(document):
        required = {p["name"] for p in operation.get("parameters", ()) if p.get("required")}
        assert ("If-Match" in required) == (method in ("patch", "delete"))


@pytest.mark.parametrize("noun", sorted(NOUNS))
def test_what_is_answered_is_what_the_document_says(document, secretary, car, noun):
    rows = furnished(car)
    one = "brake-fluid" if noun == "component-kinds" else rows[noun].pk
    for path, address in ((noun, noun), (f"{noun}/{{id}}", f"{noun}/{one}")):
        path = path.replace("{id}", "{slug}") if noun == "component-kinds" else path
        operation = document["paths"][f"/api/v1/{path}"]["get"]
        schema = operation["responses"]["200"]["content"]["application/json"]["schema"]
        answer = secretary.get(address).json()
        assert answer.get("items") != []
        assert broken(document, schema, answer) == []


ALL = NOUNS | OF_COLLECTIONS | OF_MEMBERS | BETWEEN_PEOPLE


#: The nouns whose serializer is drawn from a table.
OF_TABLES = sorted(noun for noun in ALL if hasattr(ALL[noun].serializer_class, "Meta"))


@pytest.mark.parametrize("noun", OF_TABLES)
def test_what_may_be_empty_in_the_database_may_be_null_in_an_answer(document, noun):
    serializer = ALL[noun].serializer_class()
    name = type(serializer).__name__.removesuffix("Serializer")
    said = document["components"]["schemas"][name]["properties"]
    columns = {each.name: each for each in serializer.Meta.model._meta.concrete_fields}
    empty = {
        shown
        for shown, field in serializer.fields.items()
        if field.source in columns and columns[field.source].null and not field.write_only
    }
    assert [shown for shown in empty if broken(document, said[shown], None)] == []


def test_a_request_names_what_only_an_answer_may_leave_empty(document):
    schemas = document["components"]["schemas"]
    for name in ("Transfer", "TransferIssued"):
        assert schemas[name]["properties"]["vehicle"]["type"] == ["string", "null"]
    assert schemas["TransferRequest"]["properties"]["vehicle"]["type"] == "string"


def test_hour_and_weekday_of_a_digest_have_their_bounds_in_the_document(document, secretary):
    member = str(secretary.account.memberships.get().pk)
    for name in ("ReminderPreference", "ReminderPreferenceRequest"):
        said = document["components"]["schemas"][name]["properties"]
        for field, least, most in (("digest_hour", 0, 23), ("digest_weekday", 1, 7)):
            assert (said[field]["minimum"], said[field]["maximum"]) == (least, most)
            body = {"member": member, field: most + 1}
            assert pointers(secretary.post("reminder-preferences", body)) == {f"/{field}"}


@pytest.mark.parametrize("noun", sorted(set(NOUNS) - {"component-kinds"}))
def test_an_answer_has_no_member_that_the_document_leaves_out(secretary, car, noun):
    answer = secretary.get(f"{noun}/{furnished(car)[noun].pk}").json()
    serializer: serializers.Serializer = NOUNS[noun].serializer_class()
    assert set(answer) == {n for n, field in serializer.fields.items() if not field.write_only}


def test_the_working_is_what_the_document_says(document, secretary, car, fluid):
    entry = {"kind": "brake-fluid", "action": "renew"}
    event = {"vehicle": str(car.id), "on": "2026-06-01", "entries": [entry]}
    secretary.post("service-events", event)
    operation = document["paths"]["/api/v1/due-items/{id}/working"]["get"]
    schema = operation["responses"]["200"]["content"]["application/json"]["schema"]
    for item in secretary.items("due-items"):
        working = secretary.get(f"due-items/{item['id']}/working").json()
        assert broken(document, schema, working) == []


def test_the_pages_ask_no_outside_host():
    page = Client().get("/api/v1/docs/").content.decode()
    assert "/static/drf_spectacular_sidecar/" in page
    assert "https://" not in page


def test_the_scripts_of_the_pages_are_served_from_here():
    answer = Client().get("/static/drf_spectacular_sidecar/swagger-ui-dist/swagger-ui-bundle.js")
    assert answer.status_code == 200


def test_every_text_in_a_query_is_said_to_be_neither_empty_nor_to_hold_what_no_text_may(document):
    texts = [
        parameter["schema"]
        for _, _, operation in operations(document)
        for parameter in operation.get("parameters", ())
        if parameter["in"] == "query"
        and parameter["schema"].get("type") == "string"
        and not {"enum", "format"} & set(parameter["schema"])
    ]
    assert len(texts) > 40
    for schema in texts:
        assert not jsonschema.Draft202012Validator(schema).is_valid("")
        assert not jsonschema.Draft202012Validator(schema).is_valid("a\0b")
