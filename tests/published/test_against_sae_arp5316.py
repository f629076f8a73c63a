"""SAE ARP5316: shelf life of unfitted seals, as pages that cite it give it."""

import pytest

from maintenance.engine.ageing.shelf_life import ARP5316_YEARS


@pytest.mark.parametrize(
    ("polymers", "years"),
    [
        (("NBR", "HNBR", "CR", "ACM", "AEM"), 15),
        (("AU", "EU"), 5),
        (("IIR", "EPDM", "FKM", "VMQ"), None),
    ],
)
def test_a_polymer_has_the_published_years(polymers, years):
    assert {ARP5316_YEARS[each] for each in polymers} == {years}


def test_of_sbr_the_sources_disagree_so_it_has_none():
    assert "SBR" not in ARP5316_YEARS
