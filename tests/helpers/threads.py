"""Calls that come at the same instant, each in a thread with a database connection of its own."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from threading import Barrier
from typing import TypeVar

from django.db import connection, connections

T = TypeVar("T")


@contextmanager
def database_for_threads(folder: Path) -> Iterator[None]:
    """Let new threads see what is committed, in the kind of database that the site runs on.

    The tests' SQLite database lives in memory, where threads share one cache and its locks, unlike a file's.
    So the threads get a copy of it in a file, which is gone afterwards. On PostgreSQL there is nothing to do.
    """
    if connection.vendor != "sqlite":
        yield
        return
    settings = connections.databases["default"]
    name, file = settings["NAME"], str(folder / "threads.sqlite3")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [file])
    settings["NAME"] = file
    try:
        yield
    finally:
        settings["NAME"] = name


def at_once(calls: Sequence[Callable[[], T]]) -> list[T]:
    """Make all calls at the same instant, and return what they give, in their order."""
    start = Barrier(len(calls), timeout=30)

    def run(call: Callable[[], T]) -> T:
        start.wait()
        try:
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))
