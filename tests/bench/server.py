"""The site as it is served: a granian process of our own on the loopback, ended by its own id."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

from skills.demo.serving import THREADS

_STARTED_WITHIN_S = 30
# As the demo serves: one process, its few threads.
_SERVE = ("--interface", "wsgi", "--host", "127.0.0.1", "--blocking-threads", str(THREADS), "--log-level", "warning")


@contextmanager
def served() -> Iterator[int]:
    """Serve the site on the database of this process, and give the port."""
    port = _free_port()
    program = (sys.executable, "-m", "granian", *_SERVE, "--port", str(port), "gymtrack.wsgi:application")
    environ = {**os.environ, "PYTHONPATH": str(settings.BASE_DIR), "PYTHONUNBUFFERED": "1"}
    log = Path(settings.DATA_DIR, "server.log")
    with log.open("wb") as output, subprocess.Popen(program, env=environ, stdout=output, stderr=output) as server:
        try:
            _wait_for(port, server, log)
            yield port
        finally:
            server.terminate()
            server.wait(timeout=30)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait_for(port: int, server: subprocess.Popen[bytes], log: Path) -> None:
    """Return once the port answers; raises RuntimeError with what the server said if it never does."""
    deadline = time.monotonic() + _STARTED_WITHIN_S
    while time.monotonic() < deadline and server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    raise RuntimeError(f"The server did not start: {log.read_text(encoding='utf-8')}")
