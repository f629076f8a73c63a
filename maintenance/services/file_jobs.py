"""Files taken in and made as jobs: asked for, run by whoever claims them, looked at meanwhile.

A job may be run again from its beginning at any time: what it writes is written in one
transaction together with its end, and what is there already is not added twice.
"""

import dataclasses
import datetime
import io
import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from maintenance.models import ExportJob, ImportJob, ImportProblem, Member
from maintenance.models.file_jobs import FileForm, FileJob
from maintenance.queries.access import sight_of
from maintenance.services.held_about import as_bytes, held_about
from maintenance.services.history_file.export_history import as_text, export_history
from maintenance.services.history_file.import_history import import_history
from maintenance.services.history_file.read import read_document
from maintenance.services.refusals import Problem, Refused
from maintenance.services.spreadsheet.export_entries import WRITERS, exported_rows
from maintenance.services.spreadsheet.import_entries import WRITING, EntriesReport, import_entries
from maintenance.services.spreadsheet.places import where
from maintenance.services.spreadsheet.sheet import SheetOptions

Clock = Callable[[], datetime.datetime]
Job = ImportJob | ExportJob
State = FileJob.State

#: A claim of which nothing was heard for so long is free again. Longer than a worker may take
#: over one file (`maintenance.tasks`), or a job that is still being written would be begun anew.
LEASE = datetime.timedelta(minutes=35)
#: A job that has brought down so many workers is given up.
MOST_ATTEMPTS = 3
#: How long the file of an export is kept.
KEPT = datetime.timedelta(days=7)
OPEN = (State.WAITING, State.READING, State.WRITING)

_log = logging.getLogger(__name__)


class _Overtaken(Exception):
    """Somebody else holds the job by now; what was written is taken back."""


def request_import(
    *,
    member: Member,
    form: str,
    content: bytes,
    options: SheetOptions,
    dry_run: bool,
    at: datetime.datetime,
) -> ImportJob:
    """Keep a file until it is taken in; whether it can be is told by the job."""
    return ImportJob.objects.create(
        collection_id=member.collection_id,
        member=member,
        form=form,
        content=content,
        options=dataclasses.asdict(options),
        dry_run=dry_run,
        asked_at=at,
    )


def request_export(
    *, member: Member, form: str, at: datetime.datetime, about: Member | None = None
) -> ExportJob:
    """Ask for a file of the cars that a member may see, or of all that is held about a member.

    Refused: another form than a document for what is held about somebody.
    """
    if about is not None and form != FileForm.JSON:
        raise Refused([Problem("/form", "is 'json' for what is held about a member")])
    return ExportJob.objects.create(
        collection_id=member.collection_id, member=member, form=form, asked_at=at, about=about
    )


def run_at_once(job: Job, *, clock: Clock) -> None:
    """Run a job in this process, where there is no broker; else workers find it by themselves."""
    if not settings.CELERY_BROKER_URL:
        run(type(job), job.pk, clock=clock)


def to_be_run(*, at: datetime.datetime) -> list[tuple[type[Job], Any]]:
    """Return the jobs that nobody holds, oldest first; exports past their time are removed."""
    ExportJob.objects.filter(finished_at__lt=at - KEPT).delete()
    found = []
    for model in (ImportJob, ExportJob):
        rows = model.objects.filter(_free(at)).order_by("asked_at").values_list("pk", flat=True)
        found += [(model, pk) for pk in rows]
    return found


def run(model: type[Job], pk: Any, *, clock: Clock) -> None:
    """Claim a job and run it to its end; does nothing where somebody else holds it.

    A failure that nobody foresaw leaves the job to be tried again, three times at most.
    """
    job = _claimed(model, pk, clock())
    if job is None:
        return
    try:
        if isinstance(job, ImportJob):
            _run_import(job, clock)
        else:
            _run_export(job, clock)
    except _Overtaken:
        return
    except Refused as refused:
        _refuse(job, refused, clock())
    # Whatever it was, other jobs must not wait for it.
    except Exception:
        _log.exception("job %s failed", job.pk)
        _put_back(job, clock())


def _free(at: datetime.datetime) -> Q:
    return Q(state=State.WAITING) | Q(
        state__in=(State.READING, State.WRITING), claimed_at__lt=at - LEASE
    )


def _claimed(model: type[Job], pk: Any, at: datetime.datetime) -> Job | None:
    rows = model._default_manager.filter(_free(at), pk=pk)
    # A job whose workers were killed each time has not come back by itself.
    rows.filter(attempts__gte=MOST_ATTEMPTS).update(state=State.FAILED, finished_at=at, content=b"")
    claimed = rows.update(
        state=State.READING,
        claimed_at=at,
        attempts=F("attempts") + 1,
        rows_done=0,
        rows_total=None,
    )
    if claimed != 1:
        return None
    return model._default_manager.select_related("member__account", "member__collection").get(pk=pk)


def _held(job: Job) -> Any:
    """Return the job as long as this run holds it: another claim counts an attempt more."""
    return type(job)._default_manager.filter(pk=job.pk, attempts=job.attempts, state__in=OPEN)


def _settle(job: Job, at: datetime.datetime, **columns: Any) -> None:
    if _held(job).update(finished_at=at, **columns) != 1:
        raise _Overtaken


def _run_import(job: ImportJob, clock: Clock) -> None:
    asked: dict[str, Any] = {
        "by": job.member.account,
        "at": clock(),
        "collection": job.member.collection,
        "dry_run": job.dry_run,
    }
    asked["today"] = asked["at"].astimezone(job.member.collection.zone).date()
    if job.form == FileForm.JSON:
        _run_history(job, clock, asked)
        return

    def progress(phase: str, done: int, total: int | None) -> None:
        # Once the writing has begun, what is said here is seen by nobody until it ends.
        if phase != WRITING or not done:
            _held(job).update(
                state=State(phase), rows_done=done, rows_total=total, claimed_at=clock()
            )

    def settle(report: EntriesReport) -> None:
        _settle(job, clock(), **_told(report))

    report = import_entries(
        raw=bytes(job.content),
        options=SheetOptions(**job.options),
        progress=progress,
        settle=settle,
        **asked,
    )
    if job.dry_run:
        settle(report)


def _told(report: EntriesReport) -> dict[str, Any]:
    return {
        "state": State.DONE,
        "content": b"",
        "rows_done": report.rows,
        "added": {"entries": report.entries_added, "service_events": report.events_added},
        "already_there": {"entries": report.already_there},
        "headings": report.headings,
        "warnings": report.warnings,
    }


def _run_history(job: ImportJob, clock: Clock, asked: dict[str, Any]) -> None:
    document = read_document(bytes(job.content), limit=settings.HISTORY_FILE_LIMIT)
    with transaction.atomic():
        report = import_history(document=document, **asked)
        _settle(
            job,
            clock(),
            state=State.DONE,
            content=b"",
            added=dict(report.added),
            already_there=dict(report.already_there),
            warnings=report.warnings,
        )


def _run_export(job: ExportJob, clock: Clock) -> None:
    vehicles = sight_of(job.member.account).vehicles().filter(collection=job.collection_id)
    content, rows = _made(job, vehicles)
    _settle(job, clock(), state=State.DONE, content=content, rows_done=rows, rows_total=rows)


def _made(job: ExportJob, vehicles: Any) -> tuple[bytes, int]:
    if job.about is not None:
        # Members learn all that is held about themselves, a secretary what is held here.
        within = None if job.about_id == job.member_id else job.member.collection
        return as_bytes(held_about(account=job.about.account, within=within)), 1
    if job.form == FileForm.JSON:
        document = export_history(collection=job.member.collection, vehicles=vehicles)
        return as_text(document).encode(), len(document["vehicles"])
    stream = io.BytesIO()
    rows = WRITERS[job.form](exported_rows(vehicles), stream)
    return stream.getvalue(), rows


def _refuse(job: Job, refused: Refused, at: datetime.datetime) -> None:
    with transaction.atomic():
        if isinstance(job, ImportJob):
            ImportProblem.objects.bulk_create(
                [_problem(job, each) for each in refused.problems], batch_size=500
            )
            told = {"error_count": len(refused.problems)}
        else:
            told = {}
        try:
            _settle(job, at, state=State.REFUSED, content=b"", **told)
        except _Overtaken:
            transaction.set_rollback(True)


def _problem(job: ImportJob, problem: Problem) -> ImportProblem:
    row, column = where(problem)
    pointer = problem.pointer if job.form == FileForm.JSON else ""
    return ImportProblem(job=job, row=row, column=column, pointer=pointer, detail=problem.message)


def _put_back(job: Job, at: datetime.datetime) -> None:
    if job.attempts < MOST_ATTEMPTS:
        _held(job).update(state=State.WAITING)
    else:
        _held(job).update(state=State.FAILED, finished_at=at, content=b"")
