"""The lines of the criteria that need little arithmetic: first use, inspection, finding, expiry."""

from maintenance.engine.days import NO_DAY, add_months
from maintenance.engine.due import Answer
from maintenance.engine.working.lines import Sheet, day_or_none
from maintenance.engine.working.starts import start_lines


def first_use_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of the first use after standing.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        The standing time that counts, or why there is none.

    References
    ----------
    .. [1] The rule's own source, named on its line.
    """
    found, batch = answer.by_rule.first_use, answer.shared.batch
    rule = int(batch.items.rule[row])
    sheet = start_lines(answer, row)
    months = int(batch.rules.first_use_months[rule])
    sheet.fact(
        "months", "standing time from which it is done before use", months, "months",
        str(batch.rules.source[rule]),
    )  # fmt: skip
    counted_from = day_or_none(found.counted_from[row])
    if counted_from is None:
        sheet.remark("No lay-up since then stood so long.")
        return sheet
    sheet.fact("counted_from", "standing counted from", counted_from)
    sheet.result(
        "long_enough_on", "day on which it had stood so long", "add_months(counted_from, months)",
        day_or_none(_added(answer, row, months)),
    )  # fmt: skip
    due = day_or_none(found.day[row])
    if due is None:
        sheet.remark("The day of return is not known; it is due before the car is used again.")
    else:
        sheet.fact("due_on", "day of return", due)
    return sheet


def _added(answer: Answer, row: int, months: int) -> int:
    return int(add_months(answer.by_rule.first_use.counted_from[row], months))


def inspection_lines(answer: Answer, car: int) -> Sheet:
    """Return the derivation of the next roadworthiness inspection.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    car : int
        The car's row in the batch.

    Returns
    -------
    Sheet
        The certificate or the first registration it counts from, and any suspension.

    References
    ----------
    .. [1] The regime's own sources, named on their line.
    """
    found, batch = answer.certificate, answer.shared.batch
    sheet = Sheet()
    regime = int(batch.vehicles.regime[car])
    source = str(batch.regimes.source[regime]) if regime >= 0 else ""
    passed = int(found.passed[car])
    if passed >= 0:
        sheet.fact("passed_on", "last passed", day_or_none(batch.inspections.day[passed]))
    else:
        registered = day_or_none(batch.vehicles.first_registered[car])
        sheet.fact("first_registered_on", "first registered", registered)
    says = (
        "the certificate states its own expiry"
        if found.stated[car]
        else f"reckoned by the rules of {batch.regimes.name[regime]}"
    )
    sheet.fact("expires_on", says, day_or_none(found.computed[car]), source=source)
    due = day_or_none(found.due[car])
    if found.suspended[car]:
        sheet.remark("The day falls while the car is off the road: the test is done at its return.")
    if due is None:
        sheet.remark("The day of return is not known.")
    else:
        sheet.fact("due_on", "the inspection is due by", due)
    return sheet


def finding_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of a finding still to be put right.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The finding's row in the batch.

    Returns
    -------
    Sheet
        The day of the inspection that found it.

    References
    ----------
    .. [1] Directive 2014/45/EU, Articles 7 and 9.
    """
    day = day_or_none(answer.shared.batch.findings.day[row])
    sheet = Sheet()
    sheet.fact("due_on", "failed inspection that found it", day)
    sheet.remark(
        "No renewal, overhaul, repair, adjustment, cleaning or refinishing of the component is on "
        "record since, nor an inspection passed."
    )
    return sheet


def expiry_lines(answer: Answer, row: int) -> Sheet:
    """Return the derivation of a paper's expiry.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The paper's row in the batch.

    Returns
    -------
    Sheet
        Its last day of validity.

    References
    ----------
    .. [1] The paper itself.
    """
    sheet = Sheet()
    sheet.fact("due_on", "last day of validity", day_or_none(answer.shared.batch.papers.until[row]))
    return sheet


def no_record_lines(answer: Answer, row: int) -> Sheet:
    """Return why an item has no start.

    Parameters
    ----------
    answer : Answer
        What the engine answered.
    row : int
        The item's row in the batch.

    Returns
    -------
    Sheet
        One remark.

    References
    ----------
    .. [1] Common practice: what has no record is treated as due now.
    """
    assert answer.by_rule.time.clock.start[row] == NO_DAY
    sheet = Sheet()
    sheet.remark("Nothing on record starts this clock, so it is treated as due now.")
    return sheet
