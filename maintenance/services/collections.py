"""Found a collection and change what is said of it."""

import datetime
import zoneinfo
from collections.abc import Iterator

from django.db import transaction

from maintenance.catalogue.words import nearest, unknown
from maintenance.models import Account, Collection, Member
from maintenance.models.collections import DistanceUnit
from maintenance.queries.second_lock import everything_in_sight
from maintenance.services.checks.figures import text_problems
from maintenance.services.members import add_member
from maintenance.services.recompute import recompute_collection
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.versions import locked_at


def collection_problems(*, name: str, time_zone: str, distance_unit: str) -> Iterator[Problem]:
    """Tell what is wrong with the description of a collection."""
    yield from text_problems("/name", name, longest=120, required=True)
    zones = zoneinfo.available_timezones()
    if time_zone not in zones:
        near = nearest(time_zone, zones) or "Europe/Lisbon"
        yield Problem(
            "/time_zone",
            f"{time_zone!r} is no time zone of the IANA database; write for example {near!r}",
        )
    if distance_unit not in DistanceUnit.values:
        yield Problem(
            "/distance_unit", unknown("distance unit", distance_unit, DistanceUnit.values)
        )


@transaction.atomic
def create_collection(
    *, name: str, time_zone: str = "UTC", distance_unit: str = DistanceUnit.KM
) -> Collection:
    """Found a collection, with no member and no car in it yet.

    Refused: no name, a time zone that does not exist, another unit than km or mi.
    """
    given = {"name": name, "time_zone": time_zone, "distance_unit": distance_unit}
    refuse_if_any(collection_problems(**given))
    return Collection.objects.create(**given)


@everything_in_sight()
@transaction.atomic
def found_collection(
    *, by: Account, name: str, time_zone: str = "UTC", distance_unit: str = DistanceUnit.KM
) -> Collection:
    """Found a collection whose first secretary is the founder; refused as in `create_collection`.

    One transaction, so that no collection is ever left without anybody to run it.
    """
    collection = create_collection(name=name, time_zone=time_zone, distance_unit=distance_unit)
    called = by.get_full_name() or by.get_username()
    add_member(collection=collection, account=by, name=called[:120], role=Member.Role.SECRETARY)
    return collection


def change_collection(
    *, collection: Collection, version: int, changes: dict[str, str], today: datetime.date
) -> Collection:
    """Change name, time zone or distance unit; refused as in `create_collection`.

    For another time zone, which may mean another local day, all cars are recomputed, after the
    change and some at a time: nobody who writes to one of them waits for all.
    """
    changed = _change(collection, version, changes)
    if "time_zone" in changes:
        recompute_collection(collection=changed, on=today)
    return changed


@transaction.atomic
def _change(collection: Collection, version: int, changes: dict[str, str]) -> Collection:
    collection = locked_at(collection, version)
    given = {name: getattr(collection, name) for name in ("name", "time_zone", "distance_unit")}
    given |= changes
    refuse_if_any(collection_problems(**given))
    for name, value in given.items():
        setattr(collection, name, value)
    collection.save(update_fields=[*given, "version"])
    return collection
