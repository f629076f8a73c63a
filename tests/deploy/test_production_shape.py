"""Celery, the compose file and the units agree with each other and with the tasks there are."""

import ast
import configparser
import shlex
from pathlib import Path

import pytest
import yaml
from django.conf import settings

from deploy.celery import app
from maintenance import tasks
from maintenance.reminders.channels.registry import CHANNELS

DEPLOY = Path(settings.BASE_DIR) / "deploy"
QUEUES = {queue.name for queue in app.conf.task_queues}


def units(kind):
    return sorted((DEPLOY / "systemd").glob(f"*.{kind}"))


def test_every_entry_of_the_schedule_asks_for_a_task_that_exists():
    app.loader.import_default_modules()
    for entry in app.conf.beat_schedule.values():
        assert entry["task"] in app.tasks


def test_every_channel_is_sent_by_the_schedule():
    sent = {
        entry["args"][0]
        for entry in app.conf.beat_schedule.values()
        if entry["task"] == tasks.send.name
    }
    assert sent == set(CHANNELS)


def test_a_hint_that_nobody_took_is_void_when_the_next_one_comes():
    for entry in app.conf.beat_schedule.values():
        assert entry["options"]["expires"] == entry["schedule"]


def test_a_worker_is_gone_before_its_messages_or_hints_are_given_to_another():
    limit = app.conf.task_time_limit
    assert tasks.SENDING_BUDGET.total_seconds() < app.conf.task_soft_time_limit < limit
    assert limit < settings.REMINDER_LEASE.total_seconds()
    assert limit < app.conf.broker_transport_options["visibility_timeout"]


def test_a_task_that_may_outlast_its_hint_has_taken_it_off_at_the_start():
    app.loader.import_default_modules()
    ours = [task for name, task in app.tasks.items() if not name.startswith("celery.")]
    longest = app.conf.broker_transport_options["visibility_timeout"]
    assert {
        task.name
        for task in ours
        if task.acks_late and (task.time_limit or app.conf.task_time_limit) >= longest
    } == set()


def test_files_outlast_the_containers_that_write_and_read_them():
    services = yaml.safe_load((DEPLOY / "compose.yaml").read_text())["services"]
    ours = [each for each in services.values() if each.get("image") == "idle-years"]
    kept = [each for each in ours if any(":" in mount for mount in each.get("volumes", ()))]
    assert kept == ours
    assert {mount for each in kept for mount in each["volumes"]} == {"files:/srv/idle-years/var"}


def test_the_workers_of_the_compose_file_serve_every_queue():
    services = yaml.safe_load((DEPLOY / "compose.yaml").read_text())["services"]
    served = [
        word
        for service in services.values()
        for words in [shlex.split(service.get("command", ""))]
        for flag, word in zip(words, words[1:], strict=False)
        if flag == "--queues"
    ]
    assert set(",".join(served).split(",")) == QUEUES


def test_the_worker_unit_serves_every_queue():
    unit = configparser.ConfigParser(interpolation=None, strict=False)
    unit.optionxform = str
    unit.read(DEPLOY / "systemd" / "idle-years-worker.service")
    words = shlex.split(unit["Service"]["ExecStart"])
    assert set(words[words.index("--queues") + 1].split(",")) == QUEUES


@pytest.mark.parametrize("path", units("service"), ids=lambda path: path.stem)
def test_every_unit_runs_unprivileged_from_the_checkout(path):
    unit = configparser.ConfigParser(interpolation=None, strict=False)
    unit.optionxform = str
    unit.read(path)
    assert unit["Service"]["User"] == "idle-years"
    assert unit["Service"]["ExecStart"].startswith("/srv/idle-years/.venv/bin/")


def test_every_task_is_three_lines_at_most():
    """A task fetches and calls; what is longer belongs in a service."""
    source = (Path(settings.BASE_DIR) / "maintenance" / "tasks.py").read_text()
    tasks = [node for node in ast.parse(source).body if isinstance(node, ast.FunctionDef)]
    lines = {task.name: task.end_lineno - task.body[0].lineno + 1 for task in tasks}
    assert lines
    assert {name: count for name, count in lines.items() if count > 3} == {}
