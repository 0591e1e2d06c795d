"""Emptying the tables after tests that commit, which append-only guards would forbid.

The guards are lifted for the flush alone, and stand again before the next test begins.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps

from django.core.management.base import CommandError
from django.db import OperationalError, connection
from django.test import TransactionTestCase

from gymtrack.lib import guards


def append_only_tables() -> list[str]:
    return [model._meta.db_table for model in guards.gym_models() if getattr(model, "append_only", False)]


@contextmanager
def guards_lifted() -> Iterator[None]:
    """Let the block change append-only tables; whatever happens in it, the guards stand afterwards."""
    _lift()
    try:
        yield
    finally:
        _settle()
        guards.install(connection)
        _enable()


def _settle() -> None:
    """Have deferred foreign keys checked now: PostgreSQL alters no table while such a check is pending."""
    if connection.in_atomic_block:
        connection.check_constraints()


def _lift() -> None:
    _settle()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            for guard in guards.expected_guards("sqlite"):
                if guard.table in append_only_tables():
                    cursor.execute(guard.drop)
        else:
            for table in append_only_tables():
                cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")


def _enable() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for table in append_only_tables():
                cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")


def _again_after_a_deadlock(flush: Callable[[], None], tries: int = 5) -> None:
    """Empty the tables, which a live server that still answers may hold in another order: PostgreSQL ends one."""
    for left in reversed(range(tries)):
        try:
            flush()
        except CommandError as error:
            if not left or not isinstance(error.__cause__, OperationalError):
                raise
        else:
            return


def lift_guards_while_flushing() -> None:
    """Wrap the teardown of every test that commits (live server, threads, transactions)."""
    flush: Callable[[TransactionTestCase], None] = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    @wraps(flush)
    def lifted(self: TransactionTestCase) -> None:
        with guards_lifted():
            _again_after_a_deadlock(lambda: flush(self))

    TransactionTestCase._fixture_teardown = lifted  # type: ignore[attr-defined]
