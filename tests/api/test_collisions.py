"""A call that lost against another one is made once more; what fails twice is a failure."""

import sqlite3

import pytest
from django.db import OperationalError

from api.resources import part_offers as resource
from maintenance.models import PartOffer
from maintenance.services.collisions import kept_waiting
from tests.api.test_problems import assert_problem

pytestmark = pytest.mark.django_db

OFFER = {"kind": "brake-hose", "name": "hose", "price": 12.5, "currency": "EUR"}


@pytest.fixture
def offer(club):
    return {"collection": str(club.pk), **OFFER}


@pytest.fixture
def failing(monkeypatch):
    """Have the next so many calls of a service fail."""
    verb = resource.part_offers.add_offer

    def have(times, failure):
        left = iter(range(times))

        def add_offer(**given):
            if next(left, None) is not None:
                raise failure
            return verb(**given)

        monkeypatch.setattr(resource.part_offers, "add_offer", add_offer)

    return have


@pytest.fixture
def busy(tmp_path):
    """What Django raises where SQLite has waited in vain for another writer."""
    path = tmp_path / "busy.sqlite3"
    writer, waiting = sqlite3.connect(path), sqlite3.connect(path, timeout=0)
    writer.execute("BEGIN IMMEDIATE")
    with pytest.raises(sqlite3.OperationalError) as said:
        waiting.execute("BEGIN IMMEDIATE")
    failure = OperationalError(str(said.value))
    failure.__cause__ = said.value
    yield failure
    writer.close()
    waiting.close()


def test_a_call_that_lost_is_made_once_more(secretary, offer, failing):
    failing(1, PartOffer.DoesNotExist())
    assert secretary.post("part-offers", offer).status_code == 201
    assert PartOffer.objects.count() == 1


def test_a_call_under_a_key_that_lost_is_made_once_more_and_kept(secretary, offer, failing):
    failing(1, PartOffer.DoesNotExist())
    first = secretary.post("part-offers", offer, Idempotency_Key='"one"')
    again = secretary.post("part-offers", offer, Idempotency_Key='"one"')
    assert first.status_code == again.status_code == 201
    assert again.content == first.content
    assert PartOffer.objects.count() == 1


def test_what_is_missing_both_times_is_a_failure(secretary, offer, failing):
    failing(2, PartOffer.DoesNotExist())
    secretary.client.raise_request_exception = False
    assert_problem(secretary.post("part-offers", offer), 500, "internal-error")


def test_who_was_kept_waiting_too_long_is_told_when_to_try_again(secretary, offer, failing, busy):
    assert kept_waiting(busy)
    failing(1, busy)
    answer = secretary.post("part-offers", offer)
    assert_problem(answer, 503, "busy")
    assert int(answer["Retry-After"]) > 0


def test_another_failure_of_the_database_is_no_question_of_waiting():
    assert not kept_waiting(OperationalError("the server closed the connection"))
