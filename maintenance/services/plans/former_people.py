"""Take somebody's name out of recommissioning plans, where no evidence is."""

from collections.abc import Callable
from typing import Any

from django.db.models import Q

from maintenance.models import PlanJob, PlanPerson, RecommissioningPlan


def rename_people(*, within: Q, without: Callable[[str], str], label: str) -> None:
    """Call the people of plans by a label where `without` finds a name in theirs.

    To be called in a transaction, under the locks of the cars. The version of such a plan is
    raised: a search for it that is still running was begun with the old name.
    """
    for person in PlanPerson.objects.filter(within).iterator(500):
        if without(person.name) == person.name:
            continue
        plan = RecommissioningPlan.objects.select_for_update(no_key=True).get(pk=person.plan_id)
        # Two of one name in a plan would be one person to it.
        old, person.name = person.name, f"{label} ({person.sequence})"
        person.save(update_fields=["name"])
        for job in PlanJob.objects.filter(plan=plan):
            if old in job.people:
                job.people = _put(job.people, old, person.name)
                job.save(update_fields=["people"])
        plan.result, plan.version = _put(plan.result, old, person.name), plan.version + 1
        plan.save(update_fields=["result", "version"])


def _put(said: Any, old: str, new: str) -> Any:
    if isinstance(said, dict):
        return {name: _put(value, old, new) for name, value in said.items()}
    if isinstance(said, list):
        return [_put(each, old, new) for each in said]
    return new if said == old else said
