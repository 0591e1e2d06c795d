"""What stands in the way of dropping PostgreSQL's test database."""

from django.db import connections


def end_leftover_sessions() -> None:
    """End the test database's sessions that outlived their tests: a thread of the live server may still hold one."""
    connection = connections["default"]
    if connection.vendor != "postgresql":
        return
    connection.close()
    connection.close_pool()  # type: ignore[attr-defined] # this engine's alone
    with connection._nodb_cursor() as cursor:  # the one that Django drops it with
        name = connection.settings_dict["NAME"]
        cursor.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s", [name])
