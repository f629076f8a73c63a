"""What is wrong with a roadworthiness inspection and with each of its findings."""

import datetime
from collections.abc import Iterator

from maintenance.catalogue.words import unknown
from maintenance.services.checks.cars import Car, day_problems, one_day, place_problems
from maintenance.services.checks.figures import odometer_problems, text_problems
from maintenance.services.drafts import InspectionDraft
from maintenance.services.refusals import Problem

RESULTS = ("pass", "fail")
#: Directive 2014/45/EU, Article 7, plus the advisory of common practice.
CATEGORIES = ("advisory", "minor", "major", "dangerous")
#: Those that fall due at once, and with which no car passes.
GRAVE = ("major", "dangerous")
#: The article is from memory.
_FAILS = (
    "is no finding of a pass: by Directive 2014/45/EU, Article 9, such a car fails; correct the "
    "result or the category, and where it was put right before the test was over leave the "
    "finding out and record the repair as a service event"
)


def inspection_problems(
    draft: InspectionDraft, car: Car, today: datetime.date
) -> Iterator[Problem]:
    """Tell what is wrong with an inspection by itself, its findings included."""
    yield from day_problems("/on", one_day(draft.on), car, today)
    yield from odometer_problems(
        "/odometer", draft.odometer, digits=car.odometer_digits, unit=car.odometer_unit
    )
    if not draft.result:
        yield Problem("/result", "is missing; give pass or fail")
    elif draft.result not in RESULTS:
        yield Problem("/result", unknown("result", draft.result, RESULTS))
    if draft.expires_on is not None and draft.result == "fail":
        yield Problem("/expires_on", "is for a pass only; a failed inspection has no expiry")
    elif draft.expires_on is not None and draft.expires_on < draft.on:
        yield Problem("/expires_on", f"{draft.expires_on} is before the inspection, {draft.on}")
    yield from text_problems("/certificate", draft.certificate, longest=60)
    for place, finding in enumerate(draft.findings):
        pointer = f"/findings/{place}"
        yield from place_problems(pointer, finding.place, car)
        if not finding.category:
            yield Problem(f"{pointer}/category", "is missing")
        elif finding.category not in CATEGORIES:
            yield Problem(f"{pointer}/category", unknown("category", finding.category, CATEGORIES))
        elif finding.category in GRAVE and draft.result == "pass":
            yield Problem(f"{pointer}/category", f"{finding.category} {_FAILS}")
        yield from text_problems(f"{pointer}/note", finding.note)
