"""A gym with a past, in a database and a process of its own, that logs an attempt whenever it is told to."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.conf import settings

from tests.bench.pipes import hear, say
from tests.bench.stores import own_store


@contextmanager
def grown_gym(attempts: int) -> Iterator[Callable[[], float]]:
    """Give an act that logs one attempt there and returns how many seconds it took."""
    program, pipe = (sys.executable, "-m", "django", "bench_grown", str(attempts)), subprocess.PIPE
    with own_store() as own:
        environ = {**os.environ, **own, "PYTHONPATH": str(settings.BASE_DIR)}
        with subprocess.Popen(program, env=environ, stdin=pipe, stdout=pipe, text=True) as gym:

            def log() -> float:
                say(gym, "")
                return float(hear(gym))

            try:
                yield log
            finally:
                gym.communicate()  # the end of its input is its end
