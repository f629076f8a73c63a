"""An SMTP server that keeps every message it takes, and misbehaves when told to."""

import asyncio
import threading
import time
from collections import Counter
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller

from tests.faults.processes import HOST, free_port, wait_for


class MailSink:
    """Counts by Message-ID what arrived: `arrived` in order, `twice` what came more than once.

    `refuse` is answered to DATA in place of taking the message; `delay` [s] slows each message
    down; `hang_up` cuts the connection in the middle of the next messages, so many of them.
    `stop_at` names a stage, `hello` or `taken`, at which the server holds still until `go_on`.
    """

    def __init__(self):
        self.host, self.port = HOST, free_port()
        self.url = f"smtp://{self.host}:{self.port}"
        self.stopped, self._go_on = threading.Event(), threading.Event()
        self._controller = None
        self.forget()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.go_on()
        self.stop()

    def start(self):
        self._controller = Controller(self, hostname=self.host, port=self.port)
        self._controller.start()

    def stop(self):
        """Stop listening: whoever connects is refused."""
        if self._controller is not None:
            self._controller.stop()
            self._controller = None

    def forget(self):
        """Behave well again and forget what came so far."""
        self.messages, self.taken_at = [], []
        self.refuse, self.delay, self.hang_up = "", 0.0, 0
        self.go_on()
        if self._controller is None:
            self.start()

    @property
    def arrived(self):
        return [each["Message-ID"] for each in self.messages]

    @property
    def twice(self):
        return [name for name, count in Counter(self.arrived).items() if count > 1]

    def hold_still_at(self, stage):
        self.stopped.clear()
        self._go_on.clear()
        self.stop_at = stage

    def wait_until_held(self):
        assert self.stopped.wait(60), f"nobody came as far as {self.stop_at}"

    def go_on(self):
        self.stop_at = ""
        self._go_on.set()

    def wait_for(self, count, seconds=60.0):
        wait_for(lambda: len(set(self.arrived)) >= count, f"{count} messages", seconds)

    async def handle_EHLO(self, server, session, envelope, hostname, responses):
        session.host_name = hostname
        await self._maybe_hold("hello")
        return responses

    async def handle_DATA(self, server, session, envelope):
        if self.delay:
            await asyncio.sleep(self.delay)
        if self.hang_up:
            self.hang_up -= 1
            server.transport.abort()
            return "421 closing"
        if self.refuse:
            return self.refuse
        self.messages.append(message_from_bytes(envelope.content, policy=policy.default))
        self.taken_at.append(time.monotonic())
        await self._maybe_hold("taken")
        return "250 taken"

    async def _maybe_hold(self, stage):
        if self.stop_at != stage:
            return
        self.stopped.set()
        while not self._go_on.is_set():
            await asyncio.sleep(0.02)
