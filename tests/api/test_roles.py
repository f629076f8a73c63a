"""Every address and method, asked by everybody: the table of roles says what must come of it.

A new route without a row in `maintenance/queries/roles.py` fails here.
"""

from http import HTTPStatus

import pytest
from django.db import transaction
from django.test import Client

from api.urls import FEEDS
from maintenance.queries.roles import OTHER_ADDRESSES, RIGHTS, SIGNED_IN, right_to
from tests.api.callers import Caller
from tests.api.routes import METHODS, NOWHERE, all_addresses, routes_of_nouns
from tests.api.two_clubs import TwoClubs
from tests.ordinary_role import as_ordinary_role

ROUTES = routes_of_nouns()
ON_ONE_ROW = [route for route in ROUTES if route.detail]
ON_ALL = [route for route in ROUTES if not route.detail]
NOT_PERMITTED = {HTTPStatus.UNAUTHORIZED, HTTPStatus.FORBIDDEN, HTTPStatus.NOT_FOUND}


@pytest.fixture
def clubs(db):
    """Build the clubs; the service then asks as a role that the second lock holds."""
    clubs = TwoClubs()
    with as_ordinary_role():
        yield clubs


def answered(clubs, who, route, method, **to):
    """Ask, and undo what came of it."""
    with transaction.atomic():
        answer = clubs.asks(who, route, method, **to)
        transaction.set_rollback(True)
    return answer


def is_done(answer):
    return answer.status_code < 500 and answer.status_code not in NOT_PERMITTED


def test_every_address_has_a_row_in_the_table():
    named = {(route.noun, route.verb(call)) for route in ROUTES for call in route.calls.values()}
    others = {name for _, name, view in all_addresses() if not getattr(view, "actions", None)}
    assert named <= RIGHTS.keys()
    assert others == OTHER_ADDRESSES.keys()


def test_a_page_of_those_signed_in_sends_everybody_else_to_the_door(db):
    for path, name, _ in all_addresses():
        where = "/" + path.replace("<uuid:pk>", NOWHERE)
        if OTHER_ADDRESSES.get(name) == SIGNED_IN:
            for method in ("get", "post"):
                answer = getattr(Client(), method)(where)
                assert answer.headers.get("Location", "").startswith("/sign-in"), where


@pytest.mark.parametrize("route", ON_ONE_ROW, ids=str)
def test_on_one_row_everybody_gets_what_the_table_says_and_no_hint_of_more(clubs, route):
    row = clubs.rows[route.noun]
    for method, call in route.calls.items():
        right = right_to(route.verb(call), route.noun)
        nowhere = answered(clubs, "secretary", route, method, pk=NOWHERE)
        for who in clubs.callers:
            answer = answered(clubs, who, route, method, pk=row.pk)
            if not clubs.reaches(who, right_to("see", route.noun)):
                assert answer.status_code == HTTPStatus.NOT_FOUND, (who, method)
                assert answer.content == nowhere.content
                assert "ETag" not in answer.headers
            elif clubs.reaches(who, right):
                assert is_done(answer), (who, method, answer.content)
            else:
                assert answer.status_code == HTTPStatus.FORBIDDEN, (who, method)


#: What the feed shows follows from the other nouns: tests/api/test_changes.py.
LISTS = [each for each in ON_ALL if "get" in each.calls and each.noun not in FEEDS]


@pytest.mark.parametrize("route", LISTS, ids=str)
def test_a_list_shows_each_row_to_those_that_the_table_names(clubs, route):
    row = clubs.rows[route.noun]
    for who, caller in clubs.callers.items():
        shown = {each.get("id") or each["slug"] for each in caller.items(route.at(""))}
        right = right_to(route.verb(route.calls["get"]), route.noun)
        assert (str(row.pk) in shown) == clubs.reaches(who, right), who


@pytest.mark.parametrize("route", [each for each in ON_ALL if "post" in each.calls], ids=str)
def test_a_row_is_made_by_those_that_the_table_names(clubs, route):
    right = right_to(route.verb(route.calls["post"]), route.noun)
    for who in clubs.callers:
        answer = answered(clubs, who, route, "post")
        if clubs.may_make(who, right, route.noun):
            assert is_done(answer), (who, answer.content)
        elif clubs.sees_owner(who, route.noun):
            assert answer.status_code == HTTPStatus.FORBIDDEN, (who, answer.content)
        else:
            nowhere = answered(clubs, who, route, "post", nowhere=True)
            assert answer.status_code in (HTTPStatus.FORBIDDEN, 422, HTTPStatus.BAD_REQUEST)
            assert answer.content == nowhere.content, who


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_a_token_needs_the_scope_that_the_table_names(clubs, route):
    scopes = ["read", "record", "manage"]
    for method, call in route.calls.items():
        needed = scopes.index(right_to(route.verb(call), route.noun).scope)
        for place, scope in enumerate(scopes[: needed + 1]):
            clubs.callers["by token"] = Caller(clubs.callers["secretary"].account, scope)
            answer = answered(clubs, "by token", route, method, pk=NOWHERE)
            del clubs.callers["by token"]
            says_so = b"This token has the scope" in answer.content
            assert says_so == (place < needed), (method, scope)
            assert not says_so or answer.status_code == HTTPStatus.FORBIDDEN


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_nobody_unknown_is_answered_and_no_other_method_is_taken(clubs, route):
    row = clubs.rows.get(route.noun)
    where = route.at(row and row.pk)
    for method in METHODS:
        call = route.calls.get(method)
        if not (call and right_to(route.verb(call), route.noun).of_everybody):
            assert getattr(Client(), method)(where).status_code == HTTPStatus.UNAUTHORIZED, method
    for method in METHODS:
        if method not in {*route.calls, *({"head"} if "get" in route.calls else ())}:
            answer = getattr(clubs.callers["secretary"].client, method)(where)
            assert answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED, method
