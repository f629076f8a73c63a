"""The Celery app: which queues there are, when what is asked for, and what happens on a crash.

Start a worker with `celery --app deploy.celery worker` and one beat with
`celery --app deploy.celery beat`. The broker carries hints alone. What is to be done stands in
the database, so a hint that is lost, late or doubled delays nothing for longer than one interval
below, and does nothing twice.
"""

import os
from collections.abc import Callable
from typing import Any

from celery import Celery
from celery.signals import setup_logging, task_prerun
from django.conf import settings
from kombu.entity import Queue

from maintenance.queries.second_lock import EVERYTHING, see

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("idle_years")

MINUTE = 60.0
# Kombu and Celery have no types of their own.
_queue: Callable[[str], Any] = Queue
_on_logging: Callable[[Callable[..., None]], Any] = setup_logging.connect
_before_each_task: Callable[[Callable[..., None]], Any] = task_prerun.connect


def every(seconds: float, task: str, queue: str, *arguments: str) -> dict[str, Any]:
    """Return an entry of the schedule; a hint nobody took in time is void, the next one is due."""
    options = {"queue": queue, "expires": seconds}
    return {"task": task, "schedule": seconds, "args": arguments, "options": options}


app.conf.update(
    broker_url=settings.CELERY_BROKER_URL or None,
    # Three queues, so that a long recomputation or a slow receiver never holds up a reminder.
    # A queue that is not named here is a slip of the pen, not a new queue.
    task_queues=[_queue("recompute"), _queue("reminders"), _queue("webhooks")],
    task_default_queue="reminders",
    task_create_missing_queues=False,
    task_routes={
        "recompute.*": {"queue": "recompute"},
        "files.*": {"queue": "recompute"},
        "tidy.*": {"queue": "recompute"},
        "reminders.*": {"queue": "reminders"},
    },
    # A hint is taken off the broker when its task is done. One whose worker is killed comes back;
    # but for files, whose tasks say why.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    # Nobody holds hints that an idle worker could take.
    worker_prefetch_multiplier=1,
    # Stop kindly, then for good. Less than the lease of a message (REMINDER_LEASE, 10 minutes):
    # a worker that is stuck is gone before anybody else takes what it held.
    task_soft_time_limit=7 * 60,
    task_time_limit=8 * 60,
    broker_transport_options={
        # How long Redis waits for the end of a task before it hands the hint to another worker.
        # More than the time limit, or a task that is still running would be started again. (Tasks
        # with a longer limit of their own take their hints off at the start.)
        "visibility_timeout": settings.CELERY_VISIBILITY_TIMEOUT,
        # A broker that hangs is an error after so long [s], not a worker that waits for ever.
        "socket_timeout": 30,
        "socket_connect_timeout": 10,
        "socket_keepalive": True,
    },
    # A broker that is away at the start, or for a weekend, is waited for.
    broker_connection_retry_on_startup=True,
    broker_connection_max_retries=None,
    # A lost connection leaves the running task alone; what it does is safe to be done twice.
    worker_cancel_long_running_tasks_on_connection_loss=False,
    # No results: what came of a task is in rows. So nothing is stored that would have to expire.
    task_ignore_result=True,
    result_backend=None,
    task_store_errors_even_if_ignored=False,
    task_serializer="json",
    accept_content=["json"],
    # Memory that a big collection took is given back now and then.
    worker_max_tasks_per_child=500,
    timezone="UTC",
    # Static, so that no database of schedules can be wrong. A second beat only doubles the hints.
    beat_schedule={
        # Each collection on its own local day: asked every quarter of an hour, since somewhere a
        # day may have begun, and answered by the rows that say which day was done.
        "recompute": every(15 * MINUTE, "recompute.due", "recompute"),
        "files": every(5.0, "files.find", "recompute"),
        "tidy": every(60 * MINUTE, "tidy.forget", "recompute"),
        "find": every(settings.REMINDER_FIND_EVERY, "reminders.find", "reminders"),
        "e-mail": every(settings.REMINDER_SEND_EVERY, "reminders.send", "reminders", "email"),
        "webhooks": every(settings.REMINDER_SEND_EVERY, "reminders.send", "webhooks", "webhook"),
    },
)
app.autodiscover_tasks(["maintenance"])


@_before_each_task
def see_everything(**_: Any) -> None:
    """A task works for the service, on whichever collection it is about."""
    see(EVERYTHING)


@_on_logging
def leave_logging_to_django(**_: Any) -> None:
    """Keep the JSON lines of `deploy.logs`: a receiver here stops Celery's own set-up."""
