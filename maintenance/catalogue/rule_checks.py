"""Says everything that is wrong with an interval rule, whoever wrote it."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from maintenance.catalogue.quantities import Quantity
from maintenance.catalogue.rows import Problem, read_row
from maintenance.catalogue.rules import APPLIES, WEAR_AGAINST, IntervalRule, WearLimit
from maintenance.catalogue.words import unknown
from maintenance.engine.columns import CRITICALITIES, GRADES, TASKS

#: A hundred years: the engine gives no day further off than that.
_MOST_MONTHS = 1200
_MOST_DISTANCE_KM = Decimal(999_999)
_MOST_KM_PER_MONTH = Decimal(10_000)
_MOST_FACTOR = Decimal(20)
_MOST_WARN_DAYS = 3_660
_LONGEST = {"name": 120, "source": 300}
#: A metre: what is written more finely would be rounded without a word when it is kept.
_DISTANCE_DECIMALS = 3
_WEAR_DECIMALS = 4
_BEFORE_USE_TASKS = ("inspect", "renew")


@dataclass(frozen=True)
class Vocabulary:
    """The words a rule may use.

    Parameters
    ----------
    kinds : collection of str
        Slugs of the known component kinds.
    quantities : mapping of str to Quantity
        Known quantities by slug.

    References
    ----------
    .. [1] Common practice.
    """

    kinds: Collection[str]
    quantities: Mapping[str, Quantity]


def read_rule(row: object, vocabulary: Vocabulary) -> tuple[IntervalRule | None, list[Problem]]:
    """Read and check an interval rule from a mapping, as a file or a request brings it.

    Parameters
    ----------
    row : object
        Mapping with the keys of :class:`~maintenance.catalogue.rules.IntervalRule` and no others;
        the caller takes out the keys that say which car it is for.
    vocabulary : Vocabulary
        Known kinds and quantities.

    Returns
    -------
    tuple of (IntervalRule or None, list of Problem)
        The rule and no problem, or None and every problem found. Problems of shape (missing,
        unknown, wrong type) hide those of sense, which need a whole rule.

    References
    ----------
    .. [1] Common practice.
    """
    rule, problems = read_row(IntervalRule, row)
    if rule is not None:
        problems = rule_problems(rule, vocabulary)
    return (None, problems) if problems else (rule, [])


def rule_problems(rule: IntervalRule, vocabulary: Vocabulary) -> list[Problem]:
    """Return every problem of a rule, each with its field and its remedy.

    Parameters
    ----------
    rule : IntervalRule
        The rule to check; months, distances [km] and factors are checked for range.
    vocabulary : Vocabulary
        Known kinds and quantities.

    Returns
    -------
    list of Problem
        Empty where the rule is in order.

    Notes
    -----
    Valid range: months 1 to 1200, distance above 0 to 999 999 km, factors 1 to 20.

    References
    ----------
    .. [1] Common practice. A factor below 1 would lengthen a limit in storage; no maker's limit
       is ever lengthened.
    """
    return [
        *_word_problems(rule, vocabulary),
        *_limit_problems(rule),
        *_lay_up_problems(rule),
        *_storage_care_problems(rule),
        *_warning_problems(rule),
        *(_wear_problems(rule.wear, vocabulary) if rule.wear else ()),
    ]


def factor_problems(factors: Mapping[str, Decimal]) -> list[Problem]:
    """Return every problem of the lay-up factors of a rule or a mechanism.

    Parameters
    ----------
    factors : mapping of str to Decimal
        Days counted for one laid-up day [days], by storage grade.

    Returns
    -------
    list of Problem
        With the grade as field; empty where the factors are in order.

    Notes
    -----
    Valid for exactly the four storage grades and factors from 1 to 20 of at most two decimals:
    aged days are kept as whole hundredths.

    References
    ----------
    .. [1] Common practice.
    """
    problems = [
        Problem(grade, unknown("storage grade", grade, GRADES))
        for grade in factors
        if grade not in GRADES
    ]
    for grade in GRADES:
        if grade not in factors:
            problems.append(Problem(grade, "is missing; give a factor for all four storage grades"))
        elif message := _factor_refusal(factors[grade]):
            problems.append(Problem(grade, message))
    return problems


def _factor_refusal(factor: Decimal) -> str | None:
    if not factor.is_finite() or factor > _MOST_FACTOR:
        return f"{factor} is not believable; give a factor from 1 to {_MOST_FACTOR}"
    if factor < 1:
        return (
            f"{factor} is below 1 and would lengthen the limit while the car stands; "
            "storage never lengthens a limit, so give 1 or more"
        )
    if factor != round(factor, 2):
        return f"{factor} has more than two decimals; aged days are counted in whole hundredths"
    return None


def _word_problems(rule: IntervalRule, vocabulary: Vocabulary) -> Iterator[Problem]:
    for name, longest in _LONGEST.items():
        text = getattr(rule, name)
        if not text.strip():
            yield Problem(name, "is empty; say it in plain words")
        if len(text) > longest:
            yield Problem(name, f"is longer than {longest} characters; shorten it")
    if rule.kind not in vocabulary.kinds:
        yield Problem("kind", unknown("component kind", rule.kind, vocabulary.kinds))
    for name, word, known in (
        ("task", rule.task, TASKS),
        ("applies", rule.applies, APPLIES),
        ("criticality", rule.criticality, CRITICALITIES),
    ):
        if word not in known:
            yield Problem(name, unknown(name, word, known))


def _limit_problems(rule: IntervalRule) -> Iterator[Problem]:
    limits = (rule.months, rule.distance_km, rule.wear, rule.before_use_after_months)
    if all(limit is None for limit in limits):
        yield Problem(
            "months",
            "the rule has no limit; give months, distance_km, wear or before_use_after_months",
        )
    for name in ("months", "before_use_after_months"):
        value = getattr(rule, name)
        if value is not None and not 1 <= value <= _MOST_MONTHS:
            yield Problem(name, f"{value} is not a number of months from 1 to {_MOST_MONTHS}")
    distance = rule.distance_km
    if distance is not None and (message := _distance_refusal(distance, "km", _MOST_DISTANCE_KM)):
        yield Problem("distance_km", message)
    if rule.before_use_after_months is not None and rule.task not in _BEFORE_USE_TASKS:
        yield Problem(
            "before_use_after_months",
            f"is for the tasks inspect and renew, not {rule.task}; leave it out",
        )


def _lay_up_problems(rule: IntervalRule) -> Iterator[Problem]:
    for problem in factor_problems(rule.lay_up.factors):
        yield Problem(f"lay_up/factors/{problem.field}", problem.message)
    penalty = rule.lay_up.km_per_month
    if penalty == 0:
        return
    if message := _distance_refusal(penalty, "km a month", _MOST_KM_PER_MONTH):
        yield Problem("lay_up/km_per_month", message)
    elif rule.distance_km is None:
        yield Problem(
            "lay_up/km_per_month", "has no effect without distance_km; give one or leave it out"
        )


def _storage_care_problems(rule: IntervalRule) -> Iterator[Problem]:
    if rule.applies != "laid_up":
        return
    if rule.months is None:
        yield Problem("months", "is missing; a rule that applies laid_up counts months of standing")
    for name in ("distance_km", "wear", "before_use_after_months"):
        if getattr(rule, name) is not None:
            yield Problem(name, "has no effect on a rule that applies laid_up; give months instead")


def _warning_problems(rule: IntervalRule) -> Iterator[Problem]:
    if not 0 <= rule.warn_days <= _MOST_WARN_DAYS:
        yield Problem(
            "warn_days", f"{rule.warn_days} is not a number of days from 0 to {_MOST_WARN_DAYS}"
        )
    warn = rule.warn_distance_km
    if warn != 0 and (message := _distance_refusal(warn, "km", _MOST_DISTANCE_KM)):
        yield Problem("warn_distance_km", message)


def _wear_problems(wear: WearLimit, vocabulary: Vocabulary) -> Iterator[Problem]:
    if wear.against not in WEAR_AGAINST:
        yield Problem("wear/against", unknown("base of wear", wear.against, WEAR_AGAINST))
    if (wear.minimum is None) == (wear.maximum is None):
        yield Problem("wear/minimum", "give exactly one of minimum and maximum")
    quantity = vocabulary.quantities.get(wear.quantity)
    if quantity is None:
        yield Problem(
            "wear/quantity", unknown("quantity", wear.quantity, vocabulary.quantities.keys())
        )
        return
    if wear.unit != quantity.unit:
        yield Problem(
            "wear/unit", f"{wear.unit!r} is not the unit of {quantity.slug}; use {quantity.unit!r}"
        )
    for name in ("new", "minimum", "maximum"):
        value = getattr(wear, name)
        if value is None:
            continue
        message = quantity.refusal(value) or _fineness_refusal(value, _WEAR_DECIMALS)
        if message:
            yield Problem(f"wear/{name}", message)
    yield from _new_value_problems(wear)


def _new_value_problems(wear: WearLimit) -> Iterator[Problem]:
    if wear.new is None:
        return
    if wear.minimum is not None and wear.new <= wear.minimum:
        yield Problem("wear/new", f"{wear.new} is not above the minimum of {wear.minimum}")
    if wear.maximum is not None and wear.new >= wear.maximum:
        yield Problem("wear/new", f"{wear.new} is not below the maximum of {wear.maximum}")


def _distance_refusal(value: Decimal, unit: str, most: Decimal) -> str | None:
    if not value.is_finite() or not 0 < value <= most:
        return (
            f"{value} {unit} is not above 0 and up to {most} {unit}; check the number and the unit"
        )
    return _fineness_refusal(value, _DISTANCE_DECIMALS)


def _fineness_refusal(value: Decimal, decimals: int) -> str | None:
    if value == round(value, decimals):
        return None
    return f"{value} has more than {decimals} decimals; round it"
