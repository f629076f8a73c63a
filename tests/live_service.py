"""The service as `deploy/demo` sets it up, in a process of its own on a free port of loopback."""

import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[1]
LONGEST_SECONDS = 600


class LiveService:
    """Holds the demonstration in a database of its own; `environment` names it and $TOKEN."""

    def __init__(self, folder: Path, address: str = "127.0.0.1:8000", **settings: str) -> None:
        self.port = _free_port()
        self.address = address
        self.environment = os.environ | {
            "DATABASE_URL": f"sqlite:///{folder / 'live.sqlite3'}",
            "FILES_DIR": str(folder / "files"),
            "SECRET_KEY": "only for a service that a test starts",
            "COLUMNS": "100",
            **settings,
        }
        self.run("python manage.py migrate --verbosity 0")
        printed = self.run(f"python manage.py demo --address http://{address}").stdout
        self.environment["TOKEN"] = re.search(r"^Token +(idle_\S+)$", printed, re.MULTILINE)[1]
        self.server = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "deploy.wsgi:application", "--no-control-socket"]
            + ["--bind", f"127.0.0.1:{self.port}", "--log-level", "warning"],
            cwd=ROOT,
            env=self.environment,
        )
        self._wait_until_it_answers()

    @property
    def token(self) -> str:
        return self.environment["TOKEN"]

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def run(self, command: str) -> subprocess.CompletedProcess[str]:
        """Run a command as a page shows it, with this interpreter and this service's port."""
        here = command.replace(self.address, f"127.0.0.1:{self.port}")
        here = re.sub(r"(^|\s)(?:\.venv/bin/)?python ", rf"\1{sys.executable} ", here)
        return subprocess.run(
            ["bash", "-c", here],
            cwd=ROOT,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=LONGEST_SECONDS,
            check=False,
        )

    def stop(self) -> None:
        self.server.terminate()
        self.server.wait(timeout=30)

    def _wait_until_it_answers(self) -> None:
        for _ in range(150):
            try:
                urllib.request.urlopen(f"{self.url}/api/v1", timeout=5).close()
            except urllib.error.HTTPError:
                return
            except OSError:
                time.sleep(0.2)
            else:
                return
        raise AssertionError("the service did not begin to answer within 30 seconds")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
