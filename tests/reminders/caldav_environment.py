"""An environment of its own for a CalDAV server and client, and the server in it.

Made once under `var/` from `tests/caldav.lock`, and made anew when that changes.
"""

import hashlib
import os
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOCK = ROOT / "tests" / "caldav.lock"
HOST = "127.0.0.1"


def python():
    """Return the Python of the environment, which is installed first if need be."""
    digest = hashlib.sha256(LOCK.read_bytes()).hexdigest()[:12]
    place = ROOT / "var" / f"caldav-{digest}"
    if not place.exists():
        _install(place)
    return place / "bin" / "python"


def _install(place):
    # Two test workers may both get here: each builds its own, and the first to finish is kept.
    mine = place.with_name(f"{place.name}.{os.getpid()}")
    subprocess.run([sys.executable, "-m", "venv", mine], check=True)
    pip = [mine / "bin" / "python", "-m", "pip", "install", "--quiet", "--no-input"]
    subprocess.run(
        [*pip, "--disable-pip-version-check", "--require-hashes", "--requirement", LOCK], check=True
    )
    try:
        mine.rename(place)
    except OSError:
        shutil.rmtree(mine)


class Server:
    """A CalDAV server on loopback, with an empty store."""

    def __init__(self, directory):
        with socket.socket() as probe:
            probe.bind((HOST, 0))
            self.port = probe.getsockname()[1]
        self.url = f"http://{HOST}:{self.port}/"
        self.directory = directory

    def __enter__(self):
        options = {
            "server-hosts": f"{HOST}:{self.port}",
            "storage-filesystem-folder": str(self.directory),
            "auth-type": "none",
        }
        self.process = subprocess.Popen(
            [
                python(),
                "-m",
                "radicale",
                "--config",
                "",
                *(f"--{k}={v}" for k, v in options.items()),
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        end = time.monotonic() + 60
        while not self._listens():
            assert time.monotonic() < end, "waited 60 s for the CalDAV server"
            time.sleep(0.05)
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait(20)

    def _listens(self):
        with socket.socket() as probe:
            return probe.connect_ex((HOST, self.port)) == 0
