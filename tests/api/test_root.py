"""Whoever begins with the address of the API alone finds the rest."""

import pytest
from django.test import Client

from api.urls import router
from tests.api.test_openapi import ROOT, broken

pytestmark = pytest.mark.django_db


def test_the_root_leads_to_the_documents_and_to_every_noun(secretary):
    found = Client().get(ROOT).json()
    for name in ("openapi", "docs", "problems"):
        assert Client().get(found[name]).status_code == 200
    assert set(found["nouns"]) == {noun for noun, _, _ in router.registry}
    for noun, address in found["nouns"].items():
        assert address == f"http://testserver{ROOT}/{noun}"
        assert secretary.get(address).status_code == (405 if noun == "visit-plans" else 200)


def test_the_root_is_the_same_for_whoever_is_signed_in_and_whoever_is_not(secretary):
    assert secretary.get(ROOT).content == Client().get(ROOT).content


def test_the_root_answers_as_the_document_says(document):
    said = document["paths"][ROOT]["get"]
    assert said["security"] == [{}] or not said.get("security")
    schema = said["responses"]["200"]["content"]["application/json"]["schema"]
    assert broken(document, schema, Client().get(ROOT).json()) == []


def test_the_root_takes_no_parameter_and_no_other_method():
    assert Client().get(f"{ROOT}?colour=red").status_code == 400
    answer = Client().post(ROOT)
    assert (answer.status_code, answer["Allow"]) == (405, "GET, HEAD")


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        (f"{ROOT}/", ROOT),
        (f"{ROOT}/vehicles/", f"{ROOT}/vehicles"),
        (f"{ROOT}/vehicles//", f"{ROOT}/vehicles"),
        (f"{ROOT}/openapi.json/", f"{ROOT}/openapi.json"),
        ("/api/", None),
        (f"{ROOT}/vehicels/", None),
        (f"{ROOT}/vehicels", None),
    ],
)
def test_an_address_is_suggested_only_where_there_is_one(asked, meant):
    answer = Client().get(asked)
    assert answer.status_code == 404
    hint = f" Addresses have no slash at the end: {meant}" if meant else ""
    assert answer.json()["detail"] == f"There is nothing at {asked}.{hint}"
