"""How many queries a call takes must not depend on how much there is to answer."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.urls import NOUNS
from tests.api.callers import Caller
from tests.api.test_access import furnished
from tests.factories import MemberFactory, VehicleFactory

pytestmark = pytest.mark.django_db

#: Token, memberships, rows; for an event also its entries and what they carried over, for an
#: inspection its findings, for a car whether it left, for the due list the collections whose
#: local day it is and who put items off.
MOST = {
    "service-events": 5,
    "inspections": 4,
    "vehicles": 4,
    "due-items": 5,
    "recommissioning-plans": 6,
    "component-kinds": 1,
}


def taken(caller, address):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert caller.get(address).status_code == 200
    return len(queries)


@pytest.mark.parametrize("noun", sorted(NOUNS))
def test_a_list_takes_as_many_queries_for_six_cars_as_for_one(secretary, club, car, noun):
    furnished(car)
    secretary.get(noun)  # the first use of a token is noted
    for_one = taken(secretary, noun)
    for _ in range(5):
        furnished(VehicleFactory(collection=club))
    assert taken(secretary, noun) == for_one == MOST.get(noun, 3)


@pytest.mark.parametrize("noun", sorted(NOUNS))
def test_a_keeper_of_six_cars_takes_as_many_queries_as_of_one(club, noun):
    keeper = MemberFactory(collection=club, role="keeper")
    caller = Caller(keeper.account)
    furnished(VehicleFactory(collection=club, keeper=keeper))
    caller.get(noun)
    for_one = taken(caller, noun)
    for _ in range(5):
        furnished(VehicleFactory(collection=club, keeper=keeper))
    assert taken(caller, noun) == for_one
