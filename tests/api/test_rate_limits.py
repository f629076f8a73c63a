"""Nobody asks so often that others have to wait."""

import threading
import time
import uuid

import pytest
from django.test import Client, RequestFactory

from api import rate_limits
from api.rate_limits import TooManyRequests, spend
from tests.api.callers import Caller
from tests.api.test_calendar_feeds_and_webhooks import feed_by
from tests.factories import MemberFactory

REDIS = "redis://127.0.0.1:6379/9"


@pytest.fixture(autouse=True)
def counted(settings):
    """Start from nothing counted, in this process alone."""
    settings.RATE_LIMIT_STORAGE = "memory://"
    rate_limits._limiter("memory://").storage.reset()
    return settings


def limit(settings, **policies):
    settings.RATE_LIMITS = {name.replace("_", "-"): text for name, text in policies.items()}


def problem(answer):
    return answer.status_code, answer.json()["type"].rpartition("/")[2]


def test_a_token_is_told_with_every_answer_what_is_left(counted, secretary):
    limit(counted, reads="3/hour")
    left = [secretary.get("vehicles") for _ in range(2)]
    assert {answer["RateLimit-Policy"] for answer in left} == {'"reads";q=3;w=3600'}
    assert [answer["RateLimit"].split(";t=")[0] for answer in left] == [
        '"reads";r=2',
        '"reads";r=1',
    ]
    assert 3500 < int(left[1]["RateLimit"].split(";t=")[1]) <= 3600


def test_who_has_used_everything_up_is_told_when_to_come_back(counted, secretary):
    limit(counted, reads="1/hour")
    secretary.get("vehicles")
    refused = secretary.get("vehicles")
    assert problem(refused) == (429, "too-many-requests")
    assert 3500 < int(refused["Retry-After"]) <= 3600
    assert refused["RateLimit"].startswith('"reads";r=0;t=')


def test_whoever_waits_as_long_as_told_is_let_in(counted, secretary):
    limit(counted, reads="1/second")
    secretary.get("vehicles")
    refused = secretary.get("vehicles")
    while refused.status_code == 200:  # a second ended between the two
        refused = secretary.get("vehicles")
    time.sleep(int(refused["Retry-After"]))
    assert secretary.get("vehicles").status_code == 200


def test_reads_and_writes_are_counted_apart_and_so_are_tokens(counted, secretary):
    limit(counted, reads="1/hour", writes="1/hour")
    assert secretary.get("vehicles").status_code == 200
    assert secretary.post("lay-ups", {}).status_code == 422
    assert secretary.post("lay-ups", {}).status_code == 429
    assert Caller(secretary.account).get("vehicles").status_code == 200


def test_a_refusal_of_the_role_or_the_scope_is_counted_as_well(counted, secretary):
    limit(counted, writes="2/hour")
    reader = Caller(secretary.account, scope="read")
    answers = [reader.post("lay-ups", {}).status_code for _ in range(3)]
    assert answers == [403, 403, 429]


def test_a_session_is_counted_by_its_account(counted, club):
    limit(counted, reads="1/hour")
    account = MemberFactory(collection=club).account
    answers = []
    for _ in range(2):
        browser = Client()
        browser.force_login(account)
        answers.append(browser.get("/api/v1/vehicles").status_code)
    assert answers == [200, 429]


def test_whoever_is_nobody_is_counted_by_address(counted, db):
    limit(counted, anonymous="2/hour")
    paths = ["/api/v1/problems", "/api/v1/vehicles", "/api/v1/problems/not-found"]
    assert [Client().get(path).status_code for path in paths] == [200, 401, 429]
    assert Client(REMOTE_ADDR="192.0.2.7").get("/api/v1/problems").status_code == 200


def test_tokens_that_open_nothing_are_counted_by_address(counted, secretary):
    limit(counted, bad_tokens="2/hour")
    guess = Client(headers={"Authorization": "Bearer idle_guess"})
    answers = [guess.get("/api/v1/vehicles") for _ in range(3)]
    assert [answer.status_code for answer in answers] == [401, 401, 429]
    assert problem(answers[2]) == (429, "too-many-requests") and "Retry-After" in answers[2]
    assert secretary.get("vehicles").status_code == 200


def test_a_calendar_feed_is_fetched_no_oftener_than_it_may(counted, secretary, club):
    limit(counted, calendar="1/hour", bad_tokens="1/hour")
    address = feed_by(secretary, club.members.get(account=secretary.account)).json()["address"]
    assert [Client().get(address).status_code for _ in range(2)] == [200, 429]
    wrong = address.replace("idlecal_", "idlecal_x")
    answers = [Client().get(wrong) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [404, 429]
    assert answers[1]["Content-Type"] == "application/problem+json" and answers[1]["Retry-After"]


def test_without_a_limit_nothing_is_counted_or_told(counted, secretary):
    limit(counted, reads="")
    assert "RateLimit" not in secretary.get("vehicles")


def test_a_counter_that_cannot_be_reached_keeps_nobody_out(counted, secretary):
    limit(counted, reads="1/hour")
    counted.RATE_LIMIT_STORAGE = "redis://127.0.0.1:1/0"
    assert [secretary.get("vehicles").status_code for _ in range(2)] == [200, 200]


@pytest.mark.parametrize("storage", ["memory://", REDIS])
def test_of_many_at_once_no_more_get_through_than_may(counted, storage):
    limit(counted, reads="50/hour")
    counted.RATE_LIMIT_STORAGE, key, through = storage, str(uuid.uuid4()), []

    def ask():
        for _ in range(20):
            try:
                spend(RequestFactory().get("/"), "reads", key)
                through.append(1)
            except TooManyRequests:
                continue

    callers = [threading.Thread(target=ask) for _ in range(8)]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join()
    assert len(through) == 50


def test_a_slip_in_a_limit_stops_the_start():
    with pytest.raises(ValueError, match="often"):
        rate_limits.limit_of("often enough")
