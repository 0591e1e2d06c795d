"""Having a database forget what was deleted: on the disk, not only in its answers.

SQLite overwrites what it deletes (`secure_delete`, in the settings), but pages as they were before stay in the
write-ahead log until it is emptied; and what was deleted before that setting was on stays in free pages until a VACUUM.
PostgreSQL keeps old row versions until VACUUM (autovacuum comes by itself, at a time of its own), and in its
write-ahead log and archives for as long as these are kept.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db import DatabaseError, connection


def empty_log() -> bool:
    """Empty SQLite's write-ahead log now; return whether it is empty, True on PostgreSQL, where there is none to empty.

    False where somebody is reading just now, or inside a transaction: it is emptied by the next call.
    """
    if connection.vendor != "sqlite":
        return True
    if connection.in_atomic_block:
        return False
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        busy, *_ = cursor.fetchone()
    return not busy


def compact(tables: Iterable[str]) -> str:
    """Rewrite SQLite's file, or vacuum these tables on PostgreSQL; return '' or what stood in the way.

    Outside of a transaction. On SQLite it needs as much free space as the file is large.
    """
    try:
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("VACUUM")
            else:
                for table in sorted(tables):
                    cursor.execute(f"VACUUM {connection.ops.quote_name(table)}")
    except DatabaseError as error:
        return str(error).strip()
    return "" if empty_log() else "the write-ahead log is in use"
