from django.db import models

from maintenance.models.base import Identified, TenantRow
from maintenance.models.collections import Member


class FileForm(models.TextChoices):
    CSV = "csv", "CSV"
    XLSX = "xlsx", "XLSX"
    JSON = "json", "history file"


class FileJob(TenantRow):
    """A file to be taken in or made, and how far that is.

    Whoever runs it claims it by count. A claim runs out, so that a job whose worker was killed is
    begun again by another one.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        READING = "reading"
        WRITING = "writing"
        DONE = "done"
        REFUSED = "refused"
        FAILED = "failed"

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    form = models.CharField(max_length=4, choices=FileForm.choices)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    asked_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    rows_done = models.PositiveIntegerField(default=0)
    rows_total = models.PositiveIntegerField(
        null=True, blank=True, help_text="Empty until all rows have been read."
    )
    content = models.BinaryField(blank=True)

    class Meta:
        abstract = True


class ImportJob(FileJob):
    """A file that a member sent; its content is kept until it has been taken in or refused."""

    dry_run = models.BooleanField(default=False)
    options = models.JSONField(default=dict, help_text="What is said of a sheet.")
    added = models.JSONField(default=dict, help_text="How many of each noun.")
    already_there = models.JSONField(default=dict, help_text="How many of each noun.")
    headings = models.JSONField(default=dict, help_text="Headings of a sheet, by our columns.")
    warnings = models.JSONField(default=list)
    error_count = models.PositiveIntegerField(default=0)

    class Meta:
        indexes = [
            # Jobs to be run: services.file_jobs.
            models.Index(
                fields=["asked_at"],
                condition=models.Q(state__in=["waiting", "reading", "writing"]),
                name="import_to_be_run",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.form} {self.state}"


class ImportProblem(Identified):
    """One thing wrong with a file, in the order of the file."""

    job = models.ForeignKey(ImportJob, on_delete=models.CASCADE, related_name="problems")
    row = models.PositiveIntegerField(null=True, blank=True)
    column = models.CharField(max_length=40, blank=True)
    pointer = models.TextField(blank=True, help_text="Place in a history file (RFC 6901).")
    detail = models.TextField()

    def __str__(self) -> str:
        return self.detail


class ExportJob(FileJob):
    """A file that a member asked for, of the cars that they may see, or about one member."""

    about = models.ForeignKey(
        Member,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="+",
        help_text="Of whom all is told that is held; empty for a file of cars.",
    )

    class Meta:
        indexes = [
            # Jobs to be run: services.file_jobs.
            models.Index(
                fields=["asked_at"],
                condition=models.Q(state__in=["waiting", "reading", "writing"]),
                name="export_to_be_run",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.form} {self.state}"
