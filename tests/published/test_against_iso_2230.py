"""Shelf life of rubber against ISO 2230:2002 (table cited in secondary pages; label read)."""

import datetime

import pytest

from maintenance.engine.ageing.climate_record import measured_climate
from maintenance.engine.ageing.shelf_life import (
    quarter_end,
    quarter_label,
    shelf_group,
    shelf_limits,
    store_keeps_shelf_life,
)
from maintenance.engine.days import from_day, to_day

GROUPS = [
    ("A", "NR IR BR SBR AU EU", 5, 2),
    ("B", "NBR HNBR CR IIR ACM ECO", 7, 3),
    ("C", "EPDM FKM FFKM VMQ FVMQ CSM", 10, 5),
]
JULY_1994 = to_day(datetime.date(1994, 7, 1))


@pytest.mark.parametrize(("letter", "polymers", "initial", "extension"), GROUPS)
def test_a_group_has_the_published_polymers_and_periods(letter, polymers, initial, extension):
    groups = {shelf_group(polymer) for polymer in polymers.split()}

    assert [(g.letter, g.initial_years, g.extension_years) for g in groups] == [
        (letter, initial, extension)
    ]


@pytest.mark.parametrize("day", [datetime.date(1994, 7, 1), datetime.date(1994, 9, 30)])
def test_july_to_september_1994_is_written_3_94(day):
    assert quarter_label(to_day(day)) == "3/94"


def test_a_quarter_is_counted_from_its_end():
    assert from_day(int(quarter_end(JULY_1994))) == datetime.date(1994, 9, 30)


def test_a_nitrile_seal_of_3_94_lasts_to_the_ends_of_september():
    limits = shelf_limits(JULY_1994, "NBR")
    last_days = [from_day(int(day)) for day in (limits.initial_until, limits.extended_until)]

    assert last_days == [datetime.date(2001, 9, 30), datetime.date(2004, 9, 30)]


# 6.2.1, read: the storage temperature is below 25 °C.
@pytest.mark.parametrize(("hottest", "keeps"), [(24.9, True), (25.0, False)])
def test_the_periods_hold_in_a_store_below_25_degrees(hottest, keeps):
    store = measured_climate([0, 1], [10, hottest], [50, 50])

    assert store_keeps_shelf_life(store) is keeps
