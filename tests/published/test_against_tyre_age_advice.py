"""Tyre age against the advice of a trade association (BRMA, June 2001, read in a citing page).

All tyres replaced at ten years. SI 2020/1178 (primary text read) bans tyres over ten years on
certain heavy vehicles only, so that the rule for a private car must not claim to be law.
"""

from maintenance.catalogue.load import catalogue

RULE = next(rule for rule in catalogue().rules_for("tyre") if rule.task == "renew")


def test_a_tyre_is_renewed_ten_years_after_it_was_made():
    assert (RULE.months, RULE.counts_shelf_age) == (10 * 12, True)


def test_the_age_limit_is_given_as_advice():
    assert "recommendation BRMA, June 2001" in RULE.source
