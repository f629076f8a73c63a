"""What a car asks for before it goes back on the road, from its records."""

import datetime
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import replace

from maintenance.catalogue.job_rules import FAILED_INSPECTION, PUT_RIGHT
from maintenance.catalogue.load import catalogue
from maintenance.engine.columns import CRITICALITIES
from maintenance.engine.days import to_day
from maintenance.models import DueItem, Entry, Finding, Inspection, LayUp, PlanNeed, Vehicle
from maintenance.planning.jobs import RELIABILITY, SAFETY
from maintenance.planning.what_if import with_return
from maintenance.queries.due_answers import Answers
from maintenance.queries.histories import histories
from maintenance.services.plans.wording import LAY_UP_PREPARATIONS

WHOLE_CAR = "whole-car"
INSPECTION_TASK = "roadworthiness_inspection"
RE_INSPECTION_TASK = "roadworthiness_re_inspection"
#: Must be put right, but not a reason to fail (Directive 2014/45/EU, Article 7), and advice.
_LIGHT = (Finding.Category.MINOR, Finding.Category.ADVISORY)
_PUT_RIGHT = ("renew", "overhaul", "repair", "adjust", "clean", "refinish")
_STOPS_AND_STEERS = ("brakes", "steering", "suspension", "wheels")
_REPAIRED = ("subframe", "wiring")
#: A re-test of what failed comes at most two months after (Directive 2014/45/EU, Article 9,
#: from memory); after that the car is tested whole.
RE_TEST_DAYS = 61


def needs_of(
    vehicle: Vehicle, *, on: datetime.date, by: datetime.date
) -> tuple[list[PlanNeed], list[DueItem]]:
    """Return what asks for work if the car goes back on the road on `by`, and papers that run out.

    The needs are not saved and have no plan yet. A car that is not laid up is asked the same: what
    falls due by that day. Costs the queries of one car's history and three more.
    """
    history = histories([vehicle])
    batch = with_return(history.batch, to_day(by))
    items = Answers([], on=on, history=replace(history, batch=batch)).items()
    wanted = [item for item in items if _of_the_car(item) and _asks(item, by)]
    re_test = _re_test(vehicle, on)
    needs = [*_of_items(wanted, re_test), *_of_light_findings(vehicle)]
    needs += _of_lay_up(vehicle)
    for need in needs:
        need.collection_id = vehicle.collection_id
    return needs, [item for item in wanted if item.paper_id]


def _of_the_car(item: DueItem) -> bool:
    """Say whether an item has to do with the car on the road, not with its store or its shelf."""
    shelved = item.component is not None and item.component.storage != ""
    return not item.storage_care and not shelved


def _asks(item: DueItem, by: datetime.date) -> bool:
    due = item.due_on is not None and item.due_on <= by
    return item.no_record or item.unmeasured or due


def _re_test(vehicle: Vehicle, on: datetime.date) -> bool:
    """Say whether the last inspection failed so lately that what failed is tested again."""
    last = _last_inspection(vehicle)
    failed = last is not None and last.result == Inspection.Result.FAIL
    return failed and last is not None and (on - last.on).days <= RE_TEST_DAYS


def _last_inspection(vehicle: Vehicle) -> Inspection | None:
    current = Inspection.objects.filter(vehicle=vehicle, current=True, withdrawn=False)
    return current.order_by("-on", "-id").first()


def _of_items(items: Iterable[DueItem], re_test: bool) -> Iterator[PlanNeed]:
    for item in items:
        if item.key == "inspection":
            if not re_test:
                yield _inspection_need(item)
        elif item.component_id:
            yield _item_need(item, re_test)


def _inspection_need(item: DueItem) -> PlanNeed:
    return PlanNeed(
        origin=PlanNeed.Origin.INSPECTION,
        origin_key="inspection",
        kind=WHOLE_CAR,
        task=INSPECTION_TASK,
        criticality=SAFETY,
        reason=item.sentence,
    )


def _item_need(item: DueItem, re_test: bool) -> PlanNeed:
    found = item.finding is not None
    # Nothing is renewed for want of a measurement: it is looked at and measured.
    measure = item.unmeasured and item.due_on is None and not item.no_record
    note = item.finding.note if item.finding else ""
    return PlanNeed(
        origin=PlanNeed.Origin.FINDING if found else PlanNeed.Origin.DUE_ITEM,
        origin_key=item.key,
        component_id=item.component_id,
        kind=item.kind,
        position=item.position,
        task="inspect" if measure else _mended_by(item.kind) if found else item.task,
        criticality=CRITICALITIES[item.criticality_rank],
        reason=f"To be measured. {item.sentence}" if measure else f"{item.sentence} {note}".strip(),
        tags=[FAILED_INSPECTION] if found and re_test else [],
    )


def _mended_by(kind: str) -> str:
    """Return how a finding is put right.

    What the catalogue renews, overhauls or only ever adjusts is; so is what stops and steers the
    car, and rubber. All else is repaired, the body and what is welded above all.
    """
    tasks = {rule.task for rule in catalogue().rules_for(kind)}
    for task in ("renew", "overhaul"):
        if task in tasks:
            return task
    if tasks == {"adjust"}:
        return "adjust"
    known = catalogue().kinds[kind]
    renewed = known.system in _STOPS_AND_STEERS or "elastomer" in known.mechanisms
    return "renew" if renewed and known.system != "body" and kind not in _REPAIRED else "repair"


def _of_light_findings(vehicle: Vehicle) -> Iterator[PlanNeed]:
    """Findings that fail no car, where nothing was done to the component since."""
    last = _last_inspection(vehicle)
    if last is None:
        return
    mended = _mended_since(vehicle, last.on)
    for finding in last.findings.filter(category__in=_LIGHT).select_related("component"):
        if finding.component_id not in mended:
            yield PlanNeed(
                origin=PlanNeed.Origin.FINDING,
                origin_key=f"finding:{finding.pk}",
                component=finding.component,
                kind=finding.component.kind,
                position=finding.component.position,
                task=_mended_by(finding.component.kind),
                criticality=RELIABILITY,
                reason=f"{finding.category} finding of {last.on}: {finding.note}".rstrip(": "),
                # A minor finding must be put right (Directive 2014/45/EU, Article 9, from memory),
                # advice not.
                tags=[PUT_RIGHT] if finding.category == Finding.Category.MINOR else [],
            )


def _mended_since(vehicle: Vehicle, day: datetime.date) -> set[uuid.UUID]:
    entries = Entry.objects.filter(
        event__vehicle=vehicle,
        event__current=True,
        event__withdrawn=False,
        event__on__gte=day,
        action__in=_PUT_RIGHT,
    )
    return set(entries.values_list("component_id", flat=True))


def _of_lay_up(vehicle: Vehicle) -> Iterator[PlanNeed]:
    """What was done to the car before it was laid up is undone before it moves."""
    lasting = LayUp.objects.filter(
        vehicle=vehicle, current=True, withdrawn=False, to_on__isnull=True
    )
    for lay_up in lasting:
        made = [text for text in lay_up.preparations if not text.lower().startswith("none")]
        if made:
            yield PlanNeed(
                origin=PlanNeed.Origin.LAY_UP,
                origin_key=f"lay_up:{lay_up.pk}",
                kind=LAY_UP_PREPARATIONS,
                task="undo",
                criticality=RELIABILITY,
                reason=f"prepared on {lay_up.from_on}: {'; '.join(made)}",
                tags=["stop-before-go"],
            )
