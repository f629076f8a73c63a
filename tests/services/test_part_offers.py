from decimal import Decimal

import pytest

from maintenance.models import PartOffer
from maintenance.services.part_offers import (
    add_offer,
    change_offer,
    import_offers,
    read_offers,
    remove_offer,
)
from maintenance.services.plans.terms import OfferDraft
from maintenance.services.refusals import Outdated
from tests.factories import CollectionFactory
from tests.services.asking import refused

pytestmark = pytest.mark.django_db

LIST = """\
kind,name,supplier,price,currency,lead_days,sold_separately
brake-hose,brake hose,Skerrow,24.50,EUR,9,yes
ball-joint,ball joint,Skerrow,12,EUR,,no
"""


@pytest.fixture
def club():
    return CollectionFactory()


def hose(**said):
    told = {"kind": "brake-hose", "name": "hose", "price": Decimal("24.50"), "currency": "EUR"}
    return OfferDraft(**told | said)


def test_a_price_list_is_taken_in(club):
    assert import_offers(collection=club, text=LIST) == 2
    found = PartOffer.objects.get(kind="ball-joint")
    assert (found.price, found.lead_days, found.sold_separately) == (12, 0, False)


def test_the_same_price_list_twice_changes_nothing(club):
    import_offers(collection=club, text=LIST)
    assert import_offers(collection=club, text=LIST) == 0


def test_a_later_price_list_brings_the_offers_up_to_it(club):
    import_offers(collection=club, text=LIST)
    assert import_offers(collection=club, text=LIST.replace("24.50", "26.00")) == 1
    assert PartOffer.objects.get(kind="brake-hose").price == 26


def test_every_bad_cell_is_named_and_nothing_is_taken_in(club):
    bad = (
        "kind,name,price,currency,lead_days,sold_separately\n"
        "brake-hoze,hose,24.50,EUR,9,yes\n"
        "brake-hose,,dear,euro,soon,perhaps\n"
        "brake-hose,hose,1,EUR,0,yes\n"
        "brake-hose,hose,2,EUR,0,yes\n"
    )
    told = refused(import_offers, collection=club, text=bad)
    assert told.keys() == {
        "row 2, kind", "row 3, name", "row 3, price", "row 3, currency", "row 3, lead_days",
        "row 3, sold_separately", "row 5",
    }  # fmt: skip
    assert "did you mean" in told["row 2, kind"] or "brake-hose" in told["row 2, kind"]
    assert told["row 3, price"] == "'dear' is not an amount; write it as 12.50"
    assert not PartOffer.objects.exists()


def test_a_column_that_is_none_is_named_with_the_nearest():
    told = refused(read_offers, text="kind,name,prise,currency\n")
    assert "price" in told["row 1"] or "missing" in told["row 1"]


def test_an_offer_is_made_once(club):
    add_offer(collection=club, draft=hose())
    assert "/name" in refused(add_offer, collection=club, draft=hose(price=Decimal(9)))


def test_another_suppliers_offer_is_another(club):
    add_offer(collection=club, draft=hose(supplier="Skerrow"))
    assert add_offer(collection=club, draft=hose(supplier="Ander")).pk


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"kind": "flux-hose"}, "/kind"),
        ({"name": " "}, "/name"),
        ({"price": Decimal(-1)}, "/price"),
        ({"currency": ""}, "/currency"),
        ({"quantity": 0}, "/quantity"),
        ({"lead_days": -1}, "/lead_days"),
        ({"model": "Heron"}, "/make"),
    ],
)
def test_an_offer_that_makes_no_sense_is_refused_by_its_field(club, said, pointer):
    assert pointer in refused(add_offer, collection=club, draft=hose(**said))


def test_of_two_changes_to_one_offer_the_slower_is_told(club):
    offer = add_offer(collection=club, draft=hose())
    change_offer(offer=offer, version=1, changes={"price": Decimal(30)})
    with pytest.raises(Outdated):
        remove_offer(offer=offer, version=1)
