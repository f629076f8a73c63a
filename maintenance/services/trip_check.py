"""What stands in the way of a trip: asked before departure, computed afresh, nothing saved."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from maintenance.engine.days import NEVER, from_day, to_day
from maintenance.models import DueItem, Paper, Vehicle
from maintenance.planning import trip as trips
from maintenance.planning.trip import Meeting, Trip, certificate_days, meetings
from maintenance.planning.what_if import with_return
from maintenance.queries.due_answers import Answers
from maintenance.queries.due_items import as_dict, number
from maintenance.queries.due_keys import INSPECTION_KEY
from maintenance.queries.histories import UNIT, histories
from maintenance.services.cars import closed_problems
from maintenance.services.countries import COUNTRIES
from maintenance.services.refusals import Problem, refuse_if_any

LONGEST_DAYS = 366
MOST_DISTANCE = 100_000

NOTE = (
    "What is not listed is not yet due by any rule on record. That is no word on the car's "
    "condition: look it over before departure. Local law, the maker's handbook and licensed "
    "practice go first."
)
_BEFORE = (
    trips.NO_RECORD,
    trips.FOUND,
    trips.OVERDUE,
    trips.BEFORE_USE,
    trips.BEFORE_DEPARTURE,
    trips.UNMEASURED,
)
_DOING = {
    "renew": "renew it",
    "overhaul": "overhaul it",
    "inspect": "inspect it",
    "adjust": "adjust it",
    "clean": "clean it",
    "lubricate": "lubricate it",
}
#: Countries in which a car of each regime is at home (ISO 3166-1).
_HOME = {"gb": "GB", "ni": "GB", "de": "DE", "fr": "FR", "fr-classic": "FR", "nl": "NL", "pt": "PT"}
_ABROAD = (
    "A car is tested in the country in which it is registered (Directive 2014/45/EU, Article 4, "
    "from memory), so a certificate that runs out abroad can't be renewed there. Which "
    "certificates, insurance and papers {countries} ask of a visiting car is for their law: ask "
    "before departure."
)


@dataclass(frozen=True, kw_only=True)
class TripDraft:
    """A trip as asked about; `distance` is in the unit of the car's odometer."""

    from_on: datetime.date
    to_on: datetime.date
    distance: Decimal
    countries: tuple[str, ...] = ()


def trip_check(*, vehicle: Vehicle, trip: TripDraft, on: datetime.date) -> dict[str, Any]:
    """Return what is to be seen to before a trip, what falls due on it, and what soon after.

    Computed as known on the day `on`; a car that is laid up is taken to return to the road on the
    day of departure. Refused: a car that has left its collection, a departure before `on`, a return
    before the departure or more than a year after it, a distance below nought, and what is no
    country code.
    """
    refuse_if_any(closed_problems(vehicle))
    refuse_if_any(_problems(trip, on))
    trip = replace(trip, countries=tuple(country.upper() for country in trip.countries))
    history = histories([vehicle])
    laid_up = _lasting_lay_up(vehicle)
    batch = with_return(history.batch, to_day(trip.from_on))
    answers = Answers([], on=on, history=replace(history, batch=batch))
    asked = Trip(
        to_day(trip.from_on),
        to_day(trip.to_on),
        int(trip.distance * UNIT[vehicle.odometer_unit]),
    )
    items = answers.items()
    found = [
        (meeting, _item(meeting, items[meeting.row], vehicle))
        for meeting in meetings(answers.answer, asked)
    ]
    return {
        "vehicle": vehicle.registration,
        "on": on.isoformat(),
        "from": trip.from_on.isoformat(),
        "to": trip.to_on.isoformat(),
        "distance": number(trip.distance),
        "odometer_unit": vehicle.odometer_unit,
        "countries": list(trip.countries),
        "assumes": list(_assumptions(vehicle, trip, answers, laid_up)),
        "before_departure": [item for meeting, item in found if meeting.reason in _BEFORE],
        "on_the_way": [item for meeting, item in found if meeting.reason == trips.ON_THE_WAY],
        "after_return": [item for meeting, item in found if meeting.reason == trips.AFTER_RETURN],
        "inspection": _inspection(answers, asked, vehicle, trip),
        "papers": [_paper(paper, trip) for paper in history.papers],
        "note": NOTE,
    }


def _problems(trip: TripDraft, on: datetime.date) -> Iterator[Problem]:
    if trip.from_on < on:
        yield Problem("/from", f"{trip.from_on} is before today, {on}; give a departure to come")
    if trip.to_on < trip.from_on:
        yield Problem("/to", f"{trip.to_on} is before the departure, {trip.from_on}")
    elif (trip.to_on - trip.from_on).days > LONGEST_DAYS:
        yield Problem("/to", "is more than a year after the departure; ask about shorter trips")
    if not trip.distance.is_finite() or not 0 <= trip.distance <= MOST_DISTANCE:
        yield Problem("/distance", f"{trip.distance} is not a distance from 0 to {MOST_DISTANCE}")
    for place, country in enumerate(trip.countries):
        if country.upper() not in COUNTRIES:
            yield Problem(
                f"/countries/{place}",
                f"{country!r} is no country code; write the two letters of ISO 3166-1, such as FR",
            )


def _lasting_lay_up(vehicle: Vehicle) -> datetime.date | None:
    lasting = vehicle.lay_ups.filter(current=True, withdrawn=False, to_on__isnull=True)
    return lasting.values_list("from_on", flat=True).first()


def _assumptions(
    vehicle: Vehicle, trip: TripDraft, answers: Answers, laid_up: datetime.date | None
) -> Iterator[str]:
    if laid_up is not None:
        yield (
            f"Laid up since {laid_up}: it is taken to return to the road on {trip.from_on}, "
            "and what its standing calls for comes before that."
        )
    for paper in answers.history.papers:
        if paper.kind == Paper.Kind.OFF_ROAD_DECLARATION and paper.until >= trip.from_on:
            yield (
                f"It is declared off the road until {paper.until}: end the declaration before the "
                "car is used."
            )
    rates = answers.answer.shared.forecast.central
    if trip.from_on > answers.on and not rates.days[0]:
        yield "No rate of use is known, so no distance is counted from today to the departure."
    if not answers.answer.shared.distance.count[0]:
        yield "No odometer reading is on record; record one, or distances are a guess."
    yield (
        f"The trip's {trip.distance:f} {vehicle.odometer_unit} are spread evenly over its "
        f"{(trip.to_on - trip.from_on).days + 1} days."
    )


def _item(meeting: Meeting, item: DueItem, vehicle: Vehicle) -> dict[str, Any]:
    """Return a due item with how it meets the trip and what would clear it."""
    driven = None
    if meeting.driven >= 0:
        driven = number(round(Decimal(meeting.driven) / UNIT[vehicle.odometer_unit], 1))
    plain = as_dict(item)
    named = {key: plain[key] for key in ("component", "position", "rule", "task", "criticality")}
    return named | {
        "reason": meeting.reason,
        "status": item.status,
        "due_on": None if meeting.day == NEVER else from_day(meeting.day).isoformat(),
        "after_distance": driven,
        "sentence": item.sentence + _on_this_trip(meeting, driven, vehicle),
        "cleared_by": _cleared_by(meeting, item),
        "caution": item.caution,
        "source": item.source,
    }


def _on_this_trip(meeting: Meeting, driven: Any, vehicle: Vehicle) -> str:
    """Say where the trip reaches what the sentence before it tells by the usual rate."""
    if driven is None or meeting.day == NEVER:
        return ""
    unit = vehicle.odometer_unit
    return (
        f" That is without this trip; with it, it falls due on {from_day(meeting.day)}, after "
        f"{driven} {unit} of it."
    )


def _cleared_by(meeting: Meeting, item: DueItem) -> str:
    if item.key == INSPECTION_KEY:
        return "Have the roadworthiness inspection made, and record the pass with its expiry."
    if item.paper_id:
        return "Renew the paper, and record its new last day."
    if item.finding_id:
        return "Put it right and record the work on this component, or record a later pass."
    if meeting.reason == trips.UNMEASURED:
        return "Measure it, and record the measurement."
    doing = _DOING[item.task]
    if meeting.reason == trips.NO_RECORD:
        return f"Find the record of when it was last done and enter it, or {doing} and record that."
    first = "Before the wheels turn, " if meeting.reason == trips.BEFORE_USE else ""
    return f"{first}{doing if first else doing.capitalize()} and record it."


def _inspection(answers: Answers, asked: Trip, vehicle: Vehicle, trip: TripDraft) -> dict[str, Any]:
    """Return on which days of the trip the inspection certificate holds, and what that means."""
    certificate = answers.answer.certificate
    covered, uncovered = certificate_days(answers.answer, asked)
    last = int(certificate.computed[0])
    wanted = bool(certificate.asked[0])
    return {
        "needed": wanted,
        "certificate_until": from_day(last).isoformat() if wanted and last != NEVER else None,
        "days": list(_spans(trip, covered, uncovered)),
        "notes": list(_certificate_notes(wanted, uncovered, vehicle, trip)),
    }


def _spans(trip: TripDraft, covered: int, uncovered: int) -> Iterator[dict[str, Any]]:
    lapsed = trip.from_on + datetime.timedelta(days=covered)
    if covered:
        last = lapsed - datetime.timedelta(days=1)
        yield {"from": trip.from_on.isoformat(), "to": last.isoformat(), "valid": True}
    if uncovered:
        yield {"from": lapsed.isoformat(), "to": trip.to_on.isoformat(), "valid": False}


def _certificate_notes(
    wanted: bool, uncovered: int, vehicle: Vehicle, trip: TripDraft
) -> Iterator[str]:
    if not vehicle.inspection_regime:
        yield "The car's record names no inspection regime; enter it, or the law of its country."
    elif not wanted:
        yield (
            "By the record the car needs no inspection; an exemption is the keeper's to show, and "
            "may not hold abroad."
        )
    if uncovered:
        yield f"No certificate holds on {uncovered} of the days; have the test made before."
    abroad = _abroad(vehicle, trip.countries)
    if abroad:
        yield _ABROAD.format(countries=", ".join(abroad))


def _abroad(vehicle: Vehicle, countries: Sequence[str]) -> list[str]:
    home = _HOME.get(vehicle.inspection_regime, "")
    return [country for country in dict.fromkeys(countries) if country != home]


def _paper(paper: Paper, trip: TripDraft) -> dict[str, Any]:
    begins = paper.from_on is None or paper.from_on <= trip.from_on
    return {
        "kind": paper.kind,
        "issuer": paper.issuer,
        "number": paper.number,
        "until": paper.until.isoformat(),
        "holds_throughout": begins and paper.until >= trip.to_on,
    }
