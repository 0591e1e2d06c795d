"""The role that the site itself connects with on PostgreSQL, apart from the one that owns the tables.

It may read and write rows, and of append-only tables only read and add: it owns nothing, so it can neither
drop nor disable the triggers that `gymtrack.lib.guards` makes. Run again after every migration.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper
from psycopg import sql

from gymtrack.lib.guards import GUARDED_APPS


def append_only_tables() -> list[str]:
    """Return the tables whose rows are never changed, by name."""
    models = (model for label in GUARDED_APPS for model in apps.get_app_config(label).get_models())
    return sorted(model._meta.db_table for model in models if getattr(model, "append_only", False))


def make_role(connection: BaseDatabaseWrapper, name: str, password: str) -> bool:
    """Make the role, or give it the password anew; returns whether it was made. Needs CREATEROLE."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [name])
        verb = "ALTER" if cursor.fetchone() else "CREATE"
        statement = sql.SQL(verb + " ROLE {} LOGIN PASSWORD {}")
        cursor.execute(statement.format(sql.Identifier(name), sql.Literal(password)))
    return verb == "CREATE"


def grant(connection: BaseDatabaseWrapper, name: str) -> None:
    """Give the role what the site needs and nothing else, whatever it had before."""
    with connection.cursor() as cursor:
        for statement in _grants():
            cursor.execute(sql.SQL(statement).format(role=sql.Identifier(name)))
        for table in append_only_tables():
            revoke = sql.SQL("REVOKE UPDATE, DELETE, TRUNCATE ON {table} FROM {role}")
            cursor.execute(revoke.format(table=sql.Identifier(table), role=sql.Identifier(name)))


def _grants() -> Iterator[str]:
    yield "REVOKE ALL ON ALL TABLES IN SCHEMA public FROM {role}"
    yield "GRANT USAGE ON SCHEMA public TO {role}"
    yield "GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {role}"
    yield "REVOKE INSERT, UPDATE, DELETE ON django_migrations FROM {role}"
    yield "GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {role}"
