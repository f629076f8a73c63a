"""Default limits against the GB inspection manual for cars, section 1 (primary text read).

A pad or lining below 1.5 mm is dangerous; exactly 1.5 mm passes. Tread: 1.6 mm in the central
three quarters round the whole circumference, as StVZO § 36(3) has it too (both primary text).
"""

from decimal import Decimal

import pytest

from maintenance.catalogue.load import catalogue


def wear_limit(kind):
    return next(rule.wear for rule in catalogue().rules_for(kind) if rule.wear)


@pytest.mark.parametrize("kind", ["brake-pads", "brake-shoes"])
def test_a_brake_lining_is_worn_out_at_one_and_a_half_millimetres(kind):
    limit = wear_limit(kind)

    assert (limit.quantity, limit.unit, limit.minimum) == ("lining_thickness", "mm", Decimal("1.5"))


def test_a_tyre_is_worn_out_at_one_point_six_millimetres():
    limit = wear_limit("tyre")

    assert (limit.quantity, limit.unit, limit.minimum) == ("tread_depth", "mm", Decimal("1.6"))


def test_a_disc_below_the_makers_limit_has_no_general_figure():
    assert not any(rule.wear for rule in catalogue().rules_for("brake-discs"))
