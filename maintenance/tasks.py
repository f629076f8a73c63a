"""Every Celery task: fetch and call. Each may run twice, at once, or late, and does no harm.

A task is only a hint that there may be work; what is to be done stands in rows.
"""

import datetime
from collections.abc import Callable
from typing import Any, Final

from celery import shared_task

from maintenance.models import Collection
from maintenance.models.file_jobs import ExportJob, ImportJob
from maintenance.queries.today import this_instant, today_in
from maintenance.reminders.deliver import deliver
from maintenance.reminders.find import find_reminders
from maintenance.services import file_jobs
from maintenance.services.changes import forget_changes
from maintenance.services.kept_answers import forget_answers
from maintenance.services.nightly import collections_to_compute, compute_for_the_day
from maintenance.services.sign_in import forget_the_expired

# Celery has no types of its own; here is the one place that says what its decorator does.
_task: Callable[..., Callable[[Callable[..., None]], Any]] = shared_task

# Less than the soft time limit of `deploy.celery`, so that a round ends by itself.
SENDING_BUDGET = datetime.timedelta(minutes=4)
#: How long one file may take [s].
FILE_LIMIT = 30 * 60


@_task(name="recompute.due")
def recompute_due() -> None:
    for collection in collections_to_compute(at=this_instant()):
        recompute_one.delay(str(collection.pk))


@_task(name="recompute.collection")
def recompute_one(collection: str) -> None:
    for found in Collection.objects.filter(pk=collection):
        compute_for_the_day(collection=found, clock=this_instant)


@_task(name="reminders.find")
def find_all() -> None:
    for collection in Collection.objects.values_list("pk", flat=True):
        find_one.delay(str(collection))


@_task(name="reminders.find_in_collection")
def find_one(collection: str) -> None:
    for found in Collection.objects.filter(pk=collection):
        find_reminders(collection=found, on=today_in(found), at=this_instant())


@_task(name="reminders.send")
def send(channel: str) -> None:
    deliver(channel=channel, clock=this_instant, budget=SENDING_BUDGET)


@_task(name="files.find")
def find_files() -> None:
    for model, job in file_jobs.to_be_run(at=this_instant()):
        (import_file if model is ImportJob else export_file).delay(str(job))


# A big file takes longer than the limits of `deploy.celery` allow a task that sends, and than the
# broker waits for the end of a task before it hands the hint to another worker. So the hint is
# taken off at the start: what a killed worker left is found by its row.
_file_task: Final = {
    "soft_time_limit": FILE_LIMIT,
    "time_limit": FILE_LIMIT + 60,
    "acks_late": False,
}


@_task(name="files.import", **_file_task)
def import_file(job: str) -> None:
    file_jobs.run(ImportJob, job, clock=this_instant)


@_task(name="files.export", **_file_task)
def export_file(job: str) -> None:
    file_jobs.run(ExportJob, job, clock=this_instant)


@_task(name="tidy.forget")
def forget() -> None:
    forget_answers(at=this_instant())
    forget_the_expired(at=this_instant())
    forget_changes(at=this_instant())
