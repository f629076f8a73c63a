"""Interval rules and inspection regimes for Hypothesis, every criterion in every company."""

from decimal import Decimal
from itertools import combinations, product

from hypothesis import strategies as st

WEARING_KINDS = ("brake-pads", "tyre")
TASKS = st.sampled_from(
    ["renew", "renew", "renew", "inspect", "inspect", "overhaul", "adjust", "clean", "lubricate"]
)
CARE_TASKS = st.sampled_from(["inspect", "lubricate", "adjust", "renew"])
FACTORS = st.sampled_from(
    list(product([Decimal(text) for text in ("1", "1.25", "1.5", "2", "1.01", "3.33")], repeat=4))
)
CRITERIA = st.sampled_from(
    [
        set(some)
        for count in (1, 2, 2, 3)
        for some in combinations(["months", "distance", "wear", "first_use"], count)
    ]
)
MONTHS = st.sampled_from([1, 3, 6, 12, 12, 24, 36, 60, 72, 120, 1200])
CARE_MONTHS = st.sampled_from([1, 1, 2, 6, 12])
FIRST_USE_MONTHS = st.sampled_from([1, 3, 6, 12, 24])
DISTANCES_KM = st.sampled_from([800, 5000, 10_000, 40_000, Decimal("12500.5")])
PENALTIES_KM = st.sampled_from([0, 0, 100, Decimal("33.333"), 1500])
#: Days and kilometres of warning, criticality.
WARNINGS = st.sampled_from(
    list(
        product(
            [30, 30, 0, 7, 200], [500, 0, 2000], ["safety", "safety", "reliability", "appearance"]
        )
    )
)
#: What wear is set against, and whether the value when new is known.
AGAINST = st.sampled_from(list(product(["distance", "aged_days"], [False, True])))
HOW_MANY = st.integers(1, 5)
ONE_IN_FOUR = st.integers(0, 3).map(lambda drawn: drawn == 0)
YES_NO = st.booleans()


def draw_rules(draw, places):
    """Rules, each with the (kind, position) of the components it applies to."""
    rules = []
    kinds = st.sampled_from(sorted({kind for kind, _ in places}))
    for number in range(draw(HOW_MANY)):
        kind = draw(kinds)
        components = [place for place in places if place[0] == kind]
        if draw(ONE_IN_FOUR):
            components = components[:1]
        rule = _storage_care(draw) if draw(ONE_IN_FOUR) else _rule(draw, kind in WEARING_KINDS)
        rules.append((rule | {"name": f"rule {number}", "kind": kind}, components))
    return rules


def _common(draw, task):
    factors = dict(zip(("heated", "dry", "damp", "outdoors"), draw(FACTORS), strict=True))
    warn_days, warn_km, criticality = draw(WARNINGS)
    return {
        "task": task,
        "lay_up": {"factors": factors, "km_per_month": 0},
        "warn_days": warn_days,
        "warn_distance_km": warn_km,
        "criticality": criticality,
        "source": "common practice",
    }


def _storage_care(draw):
    rule = _common(draw, draw(CARE_TASKS))
    return rule | {"applies": "laid_up", "months": draw(CARE_MONTHS)}


def _rule(draw, wears_down):
    task = draw(TASKS)
    rule = _common(draw, task) | {"applies": "always"}
    wanted = draw(CRITERIA)
    if task not in ("renew", "inspect"):
        wanted = wanted - {"first_use"}
    if "months" in wanted or not wanted:
        rule["months"] = draw(MONTHS)
        rule["counts_shelf_age"] = draw(YES_NO)
    if "distance" in wanted:
        rule["distance_km"] = draw(DISTANCES_KM)
        rule["lay_up"]["km_per_month"] = draw(PENALTIES_KM)
    if "wear" in wanted:
        rule["wear"] = _wear(draw, wears_down)
    if "first_use" in wanted:
        rule["before_use_after_months"] = draw(FIRST_USE_MONTHS)
    return rule


def _wear(draw, wears_down):
    if wears_down:
        wear = {"quantity": "lining_thickness", "unit": "mm", "minimum": Decimal("1.5")}
        new = Decimal(10)
    else:
        wear = {"quantity": "water_content", "unit": "%", "maximum": Decimal(3)}
        new = Decimal("0.2")
    against, known = draw(AGAINST)
    return wear | {"against": against, "new": new if known else None}


FIRST_INSPECTION = st.sampled_from([12, 36, 48])
LATER_BANDS = st.sets(st.sampled_from([60, 84, 96]), max_size=2)
DATE_KEPT = st.sampled_from([None, "first_due", "registration"])
EVERY = st.sampled_from([6, 12, 24])
TERMS = st.sampled_from(
    list(
        product(
            ["anniversary", "day_before", "month_end"], [0, 1, 1, 2], [False, True], [None, 60, 144]
        )
    )
)


def draw_regime(draw):
    """An inspection regime with any mixture of what the laws of some countries say."""
    first = draw(FIRST_INSPECTION)
    bands = [
        {"from_age_months": age, "every_months": draw(EVERY)}
        for age in [first, *sorted(draw(LATER_BANDS))]
    ]
    ends, keeps_date, suspended, exempt_after = draw(TERMS)
    return {
        "name": "an invented law",
        "first_after_months": first,
        "bands": bands,
        "certificate_end": ends,
        "keeps_date_months_early": keeps_date,
        "date_kept": draw(DATE_KEPT) if keeps_date else None,
        "suspended_off_road": suspended,
        "exempt_after_months": exempt_after,
    }
