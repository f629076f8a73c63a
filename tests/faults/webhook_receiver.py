"""A receiver of webhooks in a process of its own; how it behaves is in the path it is called by."""

import json
import socket
import ssl
import subprocess
import sys
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote

from tests.faults.processes import HOST, ROOT, free_port, wait_for


class Receiver:
    """Starts the process; what it was sent stands in a file of JSON lines."""

    def __init__(self, directory, *, certificate=None):
        self.port = free_port()
        self.log = directory / f"received-{self.port}.jsonl"
        self.log.touch()
        self.arguments = [str(self.port), str(self.log), *map(str, certificate or ())]

    def __enter__(self):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.webhook_receiver", *self.arguments], cwd=ROOT
        )
        wait_for(self._listens, "the receiver")
        return self

    def __exit__(self, *_):
        self.process.kill()
        self.process.wait(20)

    def url(self, path, scheme="http", host="localhost"):
        return f"{scheme}://{host}:{self.port}{path}"

    @property
    def received(self):
        """Return what was sent so far, as objects with `path`, `headers` and `body`."""
        return [json.loads(line) for line in self.log.read_text().splitlines()]

    def _listens(self):
        with socket.socket() as probe:
            return probe.connect_ex((HOST, self.port)) == 0


class Handler(BaseHTTPRequestHandler):
    """Notes a request, then answers it well or badly."""

    log_path: Path

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        with self.log_path.open("a") as log:
            line = {"path": self.path, "headers": headers, "body": body.decode()}
            log.write(json.dumps(line) + "\n")
        behaviour, _, argument = self.path[1:].partition("/")
        getattr(self, f"answer_{behaviour}")(argument)

    def answer_status(self, code):
        self.send_response(int(code))
        self.send_header("Content-Length", "0")
        self.end_headers()

    def answer_busy(self, wait):
        self.send_response(429)
        self.send_header("Retry-After", wait.replace("_", " "))
        self.end_headers()

    def answer_never(self, _):
        time.sleep(60)

    def answer_drip(self, _):
        """Send a header that never ends, one byte now and then."""
        self.wfile.write(b"HTTP/1.1 200 OK\r\nX-Long: ")
        for _second in range(600):
            time.sleep(0.1)
            self.wfile.write(b"x")

    def answer_huge(self, _):
        """Send a good status and then a body without end."""
        self.send_response(200)
        self.end_headers()
        while True:
            self.wfile.write(b"x" * 65536)

    def answer_headers(self, _):
        self.wfile.write(b"HTTP/1.1 200 OK\r\nX-Long: " + b"x" * 10_000_000 + b"\r\n\r\n")

    def answer_hangup(self, _):
        self.connection.shutdown(socket.SHUT_RDWR)

    def answer_noise(self, _):
        self.wfile.write(b"\x00\x01 not HTTP at all\r\n\r\n")

    def answer_redirect(self, target):
        code, _, location = target.partition("/")
        self.send_response(int(code))
        self.send_header("Location", unquote(location))
        self.end_headers()

    def answer_round(self, _):
        self.send_response(307)
        self.send_header("Location", "/round/and-round")
        self.end_headers()

    def log_message(self, *_):
        pass


def serve(port, log, certificate=None, key=None):
    Handler.log_path = Path(log)
    server = ThreadingHTTPServer((HOST, int(port)), Handler)
    server.daemon_threads = True
    server.handle_error = lambda *_: None
    if certificate:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(certificate, key)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    server.serve_forever()


if __name__ == "__main__":
    serve(*sys.argv[1:])
