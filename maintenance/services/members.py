"""Take members into a collection, change their role, let them go."""

import datetime
from collections.abc import Mapping

from django.db import transaction
from django.db.models import F

from maintenance.catalogue.words import unknown
from maintenance.models import Account, Collection, Letter, Member, Vehicle
from maintenance.services.cars import locked_with_linked
from maintenance.services.checks.figures import text_problems
from maintenance.services.recompute import recompute_vehicles
from maintenance.services.refusals import Problem, refuse_if_any
from maintenance.services.versions import locked_at

LAST_SECRETARY = "is the collection's last secretary; make another member secretary first"


@transaction.atomic
def add_member(*, collection: Collection, account: Account, name: str, role: str) -> Member:
    """Make an account a member; refused where it is one already, and for an unknown role."""
    member = Member(collection=collection, account=account, name=name, role=role)
    refuse_if_any(new_member_problems(member))
    member.save(force_insert=True)
    return member


@transaction.atomic
def change_member(*, member: Member, version: int, changes: Mapping[str, str]) -> Member:
    """Change a member's name or role; refused for the last secretary's role."""
    lock_members(member)
    member = locked_at(member, version)
    for name in ("name", "role"):
        setattr(member, name, changes.get(name, getattr(member, name)))
    refuse_if_any(changed_member_problems(member))
    member.save(update_fields=["name", "role", "version"])
    return member


@transaction.atomic
def remove_member(*, member: Member, today: datetime.date, cars_to: Member | None = None) -> None:
    """Let a member go; their cars stay, with `cars_to` as their keeper or with none.

    One transaction. What belonged to the membership ends with it: preferences, reminders on
    their way, calendar feeds, webhooks, files asked for. What the member recorded stays.
    Refused for the last secretary, and where the other keeper is no other member.
    """
    lock_members(member)
    problems = [] if other_secretaries(member) else [Problem("", LAST_SECRETARY)]
    if cars_to is not None and (
        cars_to.pk == member.pk or cars_to.collection_id != member.collection_id
    ):
        problems.append(Problem("/cars_to", "is no other member of the collection; name one"))
    refuse_if_any(problems)
    kept = Vehicle.objects.filter(keeper=member)
    cars = locked_with_linked(kept)
    kept.update(keeper=cars_to, version=F("version") + 1)
    waiting = Letter.objects.filter(transfer__to_keeper=member, state=Letter.State.WAITING)
    waiting.update(state=Letter.State.DROPPED)
    member.delete()
    if cars_to is not None:
        # The calendars of the new keeper show them from now on.
        recompute_vehicles(vehicles=cars, on=today)


def new_member_problems(member: Member) -> list[Problem]:
    """Tell what is wrong with a row about to be added, by itself and beside the others."""
    problems = _problems(member)
    same = Member.objects.filter(collection=member.collection_id, account=member.account_id)
    if same.exists():
        problems.append(Problem("/account", "is a member of this collection already"))
    return problems


def changed_member_problems(member: Member) -> list[Problem]:
    """Tell what is wrong with a changed row about to be saved; call it under `lock_members`."""
    problems = _problems(member)
    if member.role != Member.Role.SECRETARY and not other_secretaries(member):
        problems.append(Problem("/role", LAST_SECRETARY))
    return problems


def _problems(member: Member) -> list[Problem]:
    problems = list(text_problems("/name", member.name, longest=120, required=True))
    if member.role not in Member.Role.values:
        problems.append(Problem("/role", unknown("role", member.role, Member.Role.values)))
    return problems


def lock_members(*members: Member) -> None:
    """Lock the collections of some members until the transaction ends; before any of their cars.

    Without this two secretaries could each resign in sight of the other.
    """
    rows = Collection.objects.filter(pk__in={member.collection_id for member in members})
    list(rows.select_for_update(no_key=True).order_by("pk"))


def other_secretaries(member: Member) -> bool:
    """Say whether the collection has a secretary besides the member, or never had one."""
    secretaries = Member.objects.filter(collection=member.collection_id, role=Member.Role.SECRETARY)
    return secretaries.exclude(pk=member.pk).exists() or not secretaries.exists()
