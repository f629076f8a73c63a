"""Papers and kit of cars as columns for the engine."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Final

from maintenance.engine.columns import CRITICALITIES, Papers
from maintenance.engine.days import to_day
from maintenance.models import Paper
from maintenance.queries.column_steps import day, ints

CRITICALITY: Final = {
    # Directive 2009/103/EC, Article 3: who is hurt by the car must be covered.
    Paper.Kind.INSURANCE: "safety",
    # Common practice for the others. A duty that is missed keeps the car off the road.
    Paper.Kind.FIRE_EXTINGUISHER: "safety",
    Paper.Kind.VEHICLE_TAX: "reliability",
    Paper.Kind.OFF_ROAD_DECLARATION: "reliability",
    Paper.Kind.BREAKDOWN_COVER: "reliability",
    Paper.Kind.AGREED_VALUE: "appearance",
}


def paper_columns(papers: Sequence[Paper], place: Mapping[uuid.UUID, int]) -> Papers:
    """Return papers as columns; `place` numbers the cars."""
    lines: dict[tuple[object, ...], int] = {}
    return Papers(
        vehicle=ints(place[paper.vehicle_id] for paper in papers),
        line=ints(lines.setdefault(_line(paper), len(lines)) for paper in papers),
        begins=ints(day(paper.from_on) for paper in papers),
        until=ints(to_day(paper.until) for paper in papers),
        criticality=ints(CRITICALITIES.index(CRITICALITY[_kind(paper)]) for paper in papers),
    )


def _line(paper: Paper) -> tuple[object, ...]:
    """Return what a paper has in common with those that renew it.

    A car may carry two extinguishers, told apart by number; of a paper only one is in force.
    """
    kit = paper.kind == Paper.Kind.FIRE_EXTINGUISHER
    return (paper.vehicle_id, paper.kind, paper.number if kit else "")


def _kind(paper: Paper) -> Paper.Kind:
    return Paper.Kind(paper.kind)
