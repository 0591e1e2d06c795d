"""A server process of our own on the loopback, on the very database of the test: it can be killed and started anew."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Final
from urllib.parse import quote, urlsplit

from django.conf import settings
from django.db import connection

STARTS_WITHIN_S: Final = 60
DIES_WITHIN_S: Final = 30
# As the demo serves: one process, few threads.
_SERVE: Final = ("--interface", "wsgi", "--host", "127.0.0.1", "--blocking-threads", "2", "--log-level", "warning")


class RealServer:
    """`start` it as often as it was killed: always at the same port. `dies_at` is that of dying_wsgi.py."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self.port = _free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self, *, dies_at: str = "") -> None:
        """Serve; returns once the port answers. Raises AssertionError, with what the server said, if it never does."""
        program = (sys.executable, "-m", "granian", *_SERVE, "--port", str(self.port))
        environ = {
            **os.environ,
            "PYTHONPATH": str(settings.BASE_DIR),
            "DATABASE_URL": _url_of_test_database(),
            "DIES_AT": dies_at,
        }
        with self.log.open("ab") as said:
            self._process = subprocess.Popen(
                (*program, "tests.helpers.dying_wsgi:application"), env=environ, stdout=said, stderr=said
            )
        self._wait_for_port()

    def wait_until_killed(self) -> None:
        """Return once it was killed; AssertionError where it lives on, or ended in another way."""
        assert self._process, "not started"
        assert self._process.wait(DIES_WITHIN_S) == -signal.SIGKILL, self.said
        deadline = time.monotonic() + DIES_WITHIN_S
        while self._answers():  # its parts do not end at the very same instant
            assert time.monotonic() < deadline, "a part of the server lives on"
            time.sleep(0.05)

    def stop(self) -> None:
        """End our own process, if it runs."""
        if self._process and self._process.poll() is None:
            self._process.terminate()
            self._process.wait(DIES_WITHIN_S)

    @property
    def said(self) -> str:
        """All that it wrote."""
        return self.log.read_text(encoding="utf-8")

    def _wait_for_port(self) -> None:
        deadline = time.monotonic() + STARTS_WITHIN_S
        while not self._answers():
            ended = self._process and self._process.poll() is not None
            assert not ended, f"The server did not start: {self.said}"
            assert time.monotonic() < deadline, f"The server does not answer: {self.said}"
            time.sleep(0.05)

    def _answers(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
        except OSError:
            return False
        return True


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _url_of_test_database() -> str:
    """Return DATABASE_URL of the database that this test writes to, and not of the one that it is named after."""
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite":
        assert Path(name).is_file(), "a database in memory is this process's alone"
        return f"sqlite:///{name}"
    return urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{quote(name)}").geturl()
