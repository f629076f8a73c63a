"""Do every periodic task that is due, once: for a machine without a broker, from cron."""

import logging
from collections.abc import Callable
from functools import partial
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from maintenance.models import Collection
from maintenance.queries.today import this_instant, today_in
from maintenance.reminders import outbox
from maintenance.reminders.channels.registry import CHANNELS
from maintenance.reminders.deliver import deliver
from maintenance.reminders.find import Found, find_reminders
from maintenance.services import file_jobs
from maintenance.services.changes import forget_changes
from maintenance.services.kept_answers import forget_answers
from maintenance.services.nightly import collections_to_compute, compute_for_the_day
from maintenance.services.sign_in import forget_the_expired

_log = logging.getLogger(__name__)


class Command(BaseCommand):
    help = (
        "Compute collections whose day is new, take in and make files that wait, find reminders "
        "and send what is ready, and remove what is past its time. A task that fails keeps no "
        "other from being done. Run it every few minutes; it may run beside workers and beside "
        "itself. Exit status 0, or 1 where a task failed."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        self.failed: list[str] = []
        self._recompute()
        self._attempt("files", self._files)
        self._find()
        for channel in CHANNELS:
            self._attempt(channel, partial(self._send, channel))
        for forget in (forget_answers, forget_the_expired, forget_changes):
            self._attempt(forget.__name__, partial(forget, at=this_instant()))
        if self.failed:
            names = ", ".join(self.failed)
            raise CommandError(f"failed, to be tried again next time: {names}; see the log")

    def _attempt(self, name: str, act: Callable[[], Any]) -> Any:
        try:
            return act()
        except Exception:
            _log.exception("the task %s failed", name)
            self.failed.append(name)
            return None

    def _recompute(self) -> None:
        for collection in collections_to_compute(at=this_instant()):
            act = partial(compute_for_the_day, collection=collection, clock=this_instant)
            changed = self._attempt(f"recompute of {collection.pk}", act)
            if changed is not None:
                self.stdout.write(f"{collection}: computed for the day, {changed} items changed")

    def _files(self) -> None:
        waiting = file_jobs.to_be_run(at=this_instant())
        for model, job in waiting:
            file_jobs.run(model, job, clock=this_instant)
        if waiting:
            self.stdout.write(f"files: {len(waiting)} imports and exports run")

    def _find(self) -> None:
        total = Found()
        for collection in Collection.objects.order_by("id"):
            on, at = today_in(collection), this_instant()
            act = partial(find_reminders, collection=collection, on=on, at=at)
            found = self._attempt(f"reminders of {collection.pk}", act) or Found()
            total.made += found.made
            total.taken_up += found.taken_up
            total.dropped += found.dropped
        self.stdout.write(
            f"reminders: {total.made} new, {total.taken_up} taken up again, {total.dropped} dropped"
        )

    def _send(self, channel: str) -> None:
        lacking = CHANNELS[channel].waits_for()
        if lacking:
            waiting = outbox.ready(channel, this_instant()).count()
            self.stdout.write(f"{channel}: {waiting} messages wait, not set up; set {lacking}")
            return
        done = deliver(channel=channel, clock=this_instant)
        queued = f"{done.handed_over} queued, " if done.handed_over else ""
        self.stdout.write(
            f"{channel}: {queued}{done.sent} sent, {done.failed} failed, {done.dropped} dropped, "
            f"{done.put_back} put back"
        )
