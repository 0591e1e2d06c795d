"""Attempts as bare rows, past the whole program: the floor of everything that stores or reads them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from django.db import connection, transaction

from gymtrack.lib.ids import new_id
from skills.models import Attempt

_TABLE = Attempt._meta.db_table
_FIELDS = [str(field.column) for field in Attempt._meta.concrete_fields]
_COLUMNS = ", ".join(_FIELDS)
_INSERT = f"INSERT INTO {_TABLE} ({_COLUMNS}) VALUES ({', '.join(['%s'] * len(_FIELDS))})"  # noqa: S608 (our own names)
_ID = _FIELDS.index("id")

Row = Sequence[Any]


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


def read_rows(gym_id: object) -> list[Row]:
    """Return all rows of a gym, as the database gives them."""
    key = Attempt._meta.get_field("gym").get_db_prep_value(gym_id, connection)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {_COLUMNS} FROM {_TABLE} WHERE gym_id = %s", [key])  # noqa: S608 (our own names)
        return cursor.fetchall()


def _renewed(row: Row) -> Row:
    key = Attempt._meta.pk.get_db_prep_value(new_id(), connection)
    return (*row[:_ID], key, *row[_ID + 1 :])
