"""What must be true of the tables, held by the database itself.

Two promises are read off the models, in one place, and written as constraints and triggers:

- a row of one gym cannot point at a row of another (every foreign key between two models that have a
  `gym`): composite foreign keys on PostgreSQL, triggers on SQLite; and a row never changes its gym;
- a table whose model says `append_only` takes no UPDATE, no DELETE and, on PostgreSQL, no TRUNCATE.

SQLite drops a table's triggers whenever a migration rebuilds it, and refuses to rebuild one that a trigger
of another names; so there they are lifted before migrations and made anew after them. Whoever owns the
SQLite file can still defeat them: the audit chain is what would show it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.apps import AppConfig, apps
from django.core import checks
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

GUARDED_APPS = ("athletes", "skills")
_REFUSAL = "gymtrack_refuse"


@dataclass(frozen=True, slots=True)
class TenantKey:
    """A foreign key that must stay inside its gym."""

    table: str
    column: str
    target: str


@dataclass(frozen=True, slots=True)
class Guard:
    """One named constraint, index or trigger, with the SQL that drops it (may be empty) and makes it.

    `column` is the one it speaks of, "" for none: on the way back through migrations a table stands without it.
    """

    name: str
    table: str
    drop: str
    make: str
    column: str = ""


def gym_models(app_labels: Sequence[str] = GUARDED_APPS) -> list[type[models.Model]]:
    """Return the models that carry `gym`, in the order of their apps."""
    found: list[type[models.Model]] = []
    for label in app_labels:
        found.extend(model for model in apps.get_app_config(label).get_models() if _has_gym(model))
    return found


def tenant_keys(model: type[models.Model]) -> list[TenantKey]:
    """Return the foreign keys of `model` that lead to other rows of a gym."""
    return [
        TenantKey(model._meta.db_table, field.column, field.related_model._meta.db_table)
        for field in model._meta.concrete_fields
        if isinstance(field, models.ForeignKey) and field.name != "gym" and _has_gym(field.related_model)
    ]


def _has_gym(model: type[models.Model]) -> bool:
    return any(field.name == "gym" for field in model._meta.concrete_fields)


def expected_guards(vendor: str, app_labels: Sequence[str] = GUARDED_APPS) -> list[Guard]:
    """Return every guard that the models of these apps ask for, in the order in which to make them."""
    dialect = {"sqlite": _sqlite_guards, "postgresql": _postgresql_guards}[vendor]
    return [guard for model in gym_models(app_labels) for guard in dialect(model)]


def _sqlite_guards(model: type[models.Model]) -> Iterator[Guard]:
    table = model._meta.db_table
    for key in tenant_keys(model):
        other = (
            f"NEW.{key.column} IS NOT NULL AND NOT EXISTS (SELECT 1 FROM {key.target}"  # noqa: S608 (names of our models)
            f" WHERE id = NEW.{key.column} AND gym_id = NEW.gym_id)"
        )
        words = f"{table}.{key.column} points into another gym"
        for name, event in (("in", "INSERT"), ("up", f"UPDATE OF gym_id, {key.column}")):
            guard = _sqlite_trigger(f"{table}__{key.column}_{name}", table, event, other, words)
            yield replace(guard, column=key.column)
    yield _sqlite_trigger(
        f"{table}__gym",
        table,
        "UPDATE OF gym_id",
        "NEW.gym_id IS NOT OLD.gym_id",
        f"{table}: a row keeps its gym",
    )
    if getattr(model, "append_only", False):
        words = f"{table} is append-only"
        yield _sqlite_trigger(f"{table}__no_update", table, "UPDATE", "1", words)
        yield _sqlite_trigger(f"{table}__no_delete", table, "DELETE", "1", words)


def _sqlite_trigger(name: str, table: str, event: str, when: str, words: str) -> Guard:
    return Guard(
        name,
        table,
        f"DROP TRIGGER IF EXISTS {name}",
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} WHEN {when} BEGIN SELECT RAISE(ABORT, '{words}'); END",
    )


def _postgresql_guards(model: type[models.Model]) -> Iterator[Guard]:
    table = model._meta.db_table
    if model._meta.pk.name == "id":
        name = f"{table}__gym_id"
        yield Guard(name, table, "", f"CREATE UNIQUE INDEX {name} ON {table} (gym_id, id)")
    for key in tenant_keys(model):
        name = f"{table}__{key.column}_in"
        yield Guard(
            name,
            table,
            "",
            f"ALTER TABLE {table} ADD CONSTRAINT {name} FOREIGN KEY (gym_id, {key.column})"
            f" REFERENCES {key.target} (gym_id, id) DEFERRABLE INITIALLY IMMEDIATE",
            key.column,
        )
    changed = "WHEN (NEW.gym_id IS DISTINCT FROM OLD.gym_id)"
    yield _postgresql_trigger(f"{table}__gym", table, "UPDATE", f"FOR EACH ROW {changed}", "a row keeps its gym")
    if getattr(model, "append_only", False):
        words = "the table is append-only"
        yield _postgresql_trigger(f"{table}__no_change", table, "UPDATE OR DELETE", "FOR EACH ROW", words)
        yield _postgresql_trigger(f"{table}__no_truncate", table, "TRUNCATE", "FOR EACH STATEMENT", words)


def _postgresql_trigger(name: str, table: str, event: str, scope: str, words: str) -> Guard:
    return Guard(
        name,
        table,
        f"DROP TRIGGER IF EXISTS {name} ON {table}",
        f"CREATE TRIGGER {name} BEFORE {event} ON {table} {scope} EXECUTE FUNCTION {_REFUSAL}('{words}')",
    )


_REFUSAL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION {_REFUSAL}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%: %', TG_TABLE_NAME, TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def standing_guards(connection: BaseDatabaseWrapper) -> set[str]:
    """Return the names of the triggers, constraints and indexes that the database has now."""
    query = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": (
            "SELECT tgname::text FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
            " UNION SELECT conname::text FROM pg_constraint WHERE contype = 'f'"
            " UNION SELECT indexname::text FROM pg_indexes WHERE schemaname = current_schema()"
        ),
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {row[0] for row in cursor.fetchall()}


class _Tables:
    """The tables that the database has now, and their columns as far as they are asked for."""

    def __init__(self, connection: BaseDatabaseWrapper) -> None:
        self._connection = connection
        self._tables = set(connection.introspection.table_names())
        self._columns: dict[str, set[str]] = {}

    def have(self, guard: Guard) -> bool:
        """Whether what the guard speaks of is there."""
        return guard.table in self._tables and (not guard.column or guard.column in self._of(guard.table))

    def _of(self, table: str) -> set[str]:
        if table not in self._columns:
            with self._connection.cursor() as cursor:
                described = self._connection.introspection.get_table_description(cursor, table)
            self._columns[table] = {column.name for column in described}
        return self._columns[table]


def install(connection: BaseDatabaseWrapper, app_labels: Sequence[str] = GUARDED_APPS) -> None:
    """Make every guard of these apps whose table exists; triggers are made anew, the rest only where missing."""
    standing = standing_guards(connection)
    tables = _Tables(connection)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_REFUSAL_FUNCTION)
        for guard in expected_guards(connection.vendor, app_labels):
            if (guard.name in standing and not guard.drop) or not tables.have(guard):
                continue
            if guard.drop:
                cursor.execute(guard.drop)
            cursor.execute(guard.make)


def lift_before_migrate(sender: AppConfig, using: str, plan: Sequence[object] = (), **_kwargs: Any) -> None:  # noqa: ANN401
    """Receive `pre_migrate`: with anything to migrate on SQLite, drop the triggers on the app's tables."""
    connection = connections[using]
    if connection.vendor != "sqlite" or not plan:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND substr(tbl_name, 1, %s) = %s",
            [len(sender.label) + 1, f"{sender.label}_"],
        )
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")


def install_after_migrate(sender: AppConfig, using: str, **_kwargs: Any) -> None:  # noqa: ANN401 (a signal's)
    """Receive `post_migrate`."""
    install(connections[using], [sender.label])


def guards_stand(databases: Sequence[str] | None = None, **_kwargs: Any) -> list[checks.CheckMessage]:  # noqa: ANN401
    """System check (tag `database`): every guard stands on every table that exists."""
    return [problem for alias in databases or () for problem in _missing(connections[alias])]


def _missing(connection: BaseDatabaseWrapper) -> list[checks.CheckMessage]:
    tables = _Tables(connection)
    standing = standing_guards(connection)
    names = [g.name for g in expected_guards(connection.vendor) if g.name not in standing and tables.have(g)]
    if not names:
        return []
    hint = "Run `manage.py migrate --skip-checks`, which makes them again, and find out who removed them."
    return [checks.Error(f"Database guards are missing: {', '.join(names)}.", hint=hint, id="gymtrack.E001")]
