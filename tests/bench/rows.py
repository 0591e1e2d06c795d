"""Attempts as bare rows, past the whole program: the floor of everything that stores or reads them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from gymtrack.lib.ids import new_id
from skills.models import Attempt, StepTimeline

_TABLE = Attempt._meta.db_table
_FIELDS = [str(field.column) for field in Attempt._meta.concrete_fields]
_COLUMNS = ", ".join(_FIELDS)
_INSERT = f"INSERT INTO {_TABLE} ({_COLUMNS}) VALUES ({', '.join(['%s'] * len(_FIELDS))})"  # noqa: S608 (our own names)
_ID = _FIELDS.index("id")

Row = Sequence[Any]

# A UUIDv7 of the same millisecond: the moment is kept, the rest is random.
_FRESH_IDS = {
    "sqlite": (
        "substr(id, 1, 12) || '7' || lower(substr(hex(randomblob(2)), 2) || '8' || substr(hex(randomblob(8)), 2))"
    ),
    "postgresql": (
        "overlay(overlay(gen_random_uuid()::text placing '7' from 15) placing left(id::text, 13) from 1)::uuid"
    ),
}


def insert_again(row: Row) -> None:
    """Insert a row under a new id and commit."""
    with connection.cursor() as cursor:
        cursor.execute(_INSERT, _renewed(row))


def insert_all_again(rows: Collection[Row]) -> Callable[[], None]:
    """Return an act that inserts rows under new ids with one executemany and one commit."""
    renewed = [_renewed(row) for row in rows]

    def insert() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.executemany(_INSERT, renewed)

    return insert


def multiply(model: type[Attempt | StepTimeline], athlete_id: UUID, others: Iterable[UUID]) -> None:
    """Give others the same rows as an athlete has, one statement for each, past the program: a million in a minute."""
    columns = [str(field.column) for field in model._meta.concrete_fields]
    taken = [
        "%s" if name == "athlete_id" else _FRESH_IDS[connection.vendor] if name == "id" else name for name in columns
    ]
    table, owner = model._meta.db_table, model._meta.get_field("athlete")
    copy = f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(taken)} FROM {table} WHERE athlete_id = %s"  # noqa: S608 (our own names)
    key = owner.get_db_prep_value(athlete_id, connection)
    with connection.cursor() as cursor:
        for other in others:
            cursor.execute(copy, [owner.get_db_prep_value(other, connection), key])


def read_rows(gym_id: object) -> list[Row]:
    """Return all rows of a gym, as the database gives them."""
    key = Attempt._meta.get_field("gym").get_db_prep_value(gym_id, connection)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {_COLUMNS} FROM {_TABLE} WHERE gym_id = %s", [key])  # noqa: S608 (our own names)
        return cursor.fetchall()


def _renewed(row: Row) -> Row:
    key = Attempt._meta.pk.get_db_prep_value(new_id(), connection)
    return (*row[:_ID], key, *row[_ID + 1 :])
