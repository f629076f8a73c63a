"""Servers and workers as processes of their own, on loopback, that a test may stop or kill."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import psycopg
import redis as redis_client

ROOT = Path(__file__).resolve().parents[2]
HOST = "127.0.0.1"


def wait_for(true, what, seconds=60.0, every=0.05):
    """Wait until `true()` is; say what was waited for if it never comes."""
    end = time.monotonic() + seconds
    while not (found := true()):
        assert time.monotonic() < end, f"waited {seconds:.0f} s for {what}"
        time.sleep(every)
    return found


def free_port():
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return probe.getsockname()[1]


class Redis:
    """A broker that forgets everything when it stops."""

    def __init__(self, directory):
        self.directory, self.port, self.process = directory, free_port(), None
        # Number 9 of its databases, like any other that is not the first.
        self.url = f"redis://{HOST}:{self.port}/9"

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *_):
        self.stop()

    def start(self):
        options = ["--bind", HOST, "--save", "", "--appendonly", "no", "--dir", self.directory]
        self.process = subprocess.Popen(
            ["redis-server", "--port", str(self.port), *options],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        wait_for(self._answers, "Redis")

    def stop(self):
        self.process.terminate()
        self.process.wait(20)

    def flush(self):
        redis_client.Redis(host=HOST, port=self.port, db=9).flushdb()

    def _answers(self):
        try:
            return redis_client.Redis(host=HOST, port=self.port).ping()
        except redis_client.RedisError:
            return False


class Postgres:
    """A cluster of our own, so that it may be restarted."""

    def __init__(self, directory):
        self.port = free_port()
        self.url = f"postgres://postgres@{HOST}:{self.port}/postgres"
        # PostgreSQL does not run as root: then its own user runs it, who must reach the place.
        self.as_user = {"user": "postgres"} if os.getuid() == 0 else {}
        self.data = directory / "data"
        if self.as_user:
            directory = Path("/tmp") / f"idle-years-faults-{os.getpid()}"
            directory.mkdir(mode=0o755, exist_ok=True)
            shutil.chown(directory, "postgres")
            self.data = directory / "data"
        self.directory = directory

    def __enter__(self):
        self._run("initdb", "-D", self.data, "-U", "postgres", "-A", "trust", "-N")
        self._control("start")
        return self

    def __exit__(self, *_):
        self._control("stop", "-m", "immediate")
        shutil.rmtree(self.directory)

    def settings(self):
        return {
            "ENGINE": "django.db.backends.postgresql",
            "HOST": HOST,
            "PORT": self.port,
            "USER": "postgres",
            "PASSWORD": "",
            "NAME": "postgres",
            "OPTIONS": {},
        }

    def restart(self):
        """Restart it as after a crash: every connection is cut, nothing is said first."""
        self._control("restart", "-m", "immediate")

    def _control(self, verb, *options):
        server = f"-p {self.port} -h {HOST} -k {self.directory} -c fsync=off"
        log = self.directory / "log"
        self._run("pg_ctl", verb, "-D", self.data, "-w", "-l", log, "-o", server, *options)
        if verb != "stop":
            wait_for(self._answers, "PostgreSQL")

    def _answers(self):
        try:
            psycopg.connect(self.url, connect_timeout=2).close()
            return True
        except psycopg.OperationalError:
            return False

    def _run(self, program, *arguments):
        found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), reverse=True)
        path = str(found[0]) if found else program
        subprocess.run(
            [path, *map(str, arguments)],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self.directory,
            **self.as_user,
        )


class Celery:
    """Workers and beats of the service."""

    running = []

    def __init__(self, environment, directory):
        self.environment = {
            **os.environ,
            **environment,
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
        }
        self.directory = directory
        self.processes = []

    def __enter__(self):
        self.running.append(self)
        return self

    def __exit__(self, *_):
        self.running.remove(self)
        self.stop()

    def stop(self):
        for process in self.processes:
            self.kill(process)

    def worker(self):
        """Return a worker that takes tasks, the one that runs or a new one."""
        if not self.processes_called("worker"):
            self._start_worker()
        (process,) = self.processes_called("worker")
        wait_for(lambda: "ready." in self.said(process), "the worker to be ready")
        return process

    def beat(self):
        """Return the beat that runs or a new one."""
        return (self.processes_called("beat") or [self.second_beat()])[0]

    def second_beat(self):
        """Start a beat, whether one runs or not."""
        schedule = self.directory / f"schedule-{len(self.processes)}"
        return self._start("beat", "--schedule", str(schedule), "--loglevel", "INFO")

    def start_what_ended(self):
        """Start again a worker or a beat that ended, as the units and the containers do.

        Kombu 5.7 ends a worker whose broker goes away while a message is not yet acknowledged,
        if it is the subscription and not the queue that is seen to break first.
        """
        if not self.processes_called("beat"):
            self.second_beat()
        if not self.processes_called("worker"):
            self._start_worker()

    def let_go_of_extra_beats(self):
        for process in self.processes_called("beat")[1:]:
            self.kill(process)

    def said(self, process):
        return process.log.read_text()

    def kill(self, process):
        """SIGKILL a worker with all its children: none gets to say or undo anything."""
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(20)

    def processes_called(self, what):
        return [
            process
            for process in self.processes
            if process.poll() is None and process.log.name.startswith(what)
        ]

    def _start_worker(self):
        queues = "recompute,reminders,webhooks"
        self._start("worker", "--concurrency", "2", "--queues", queues, "--loglevel", "INFO")

    def _start(self, *arguments):
        log = self.directory / f"{arguments[0]}-{len(self.processes)}.log"
        command = [sys.executable, "-m", "celery", "--app", "deploy.celery", *arguments]
        with log.open("w") as out:
            process = subprocess.Popen(
                command,
                cwd=ROOT,
                env={**self.environment, "LOG_LEVEL": "INFO"},
                stdout=out,
                stderr=out,
                start_new_session=True,
            )
        process.log = log
        self.processes.append(process)
        return process
