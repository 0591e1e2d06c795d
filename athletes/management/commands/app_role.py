"""`manage.py app_role NAME`: make or refresh the PostgreSQL role that the site connects with.

Run it as the owner of the tables after every `migrate`; the role's password is read from APP_ROLE_PASSWORD.
"""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction

from gymtrack import env
from gymtrack.lib.app_role import append_only_tables, grant, make_role


class Command(BaseCommand):
    help = "Make the PostgreSQL role of the site: it may add to append-only tables, and change nothing in them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the role's name, such as gymtrack_app")

    def handle(self, *, name: str, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        if connection.vendor != "postgresql":
            raise CommandError("Roles are PostgreSQL's: DATABASE_URL names another engine.")
        password = env.text("APP_ROLE_PASSWORD")
        if not password:
            raise CommandError("Set APP_ROLE_PASSWORD to the password that the role shall have.")
        with transaction.atomic():
            made = make_role(connection, name, password)
            grant(connection, name)
        verb = "made" if made else "refreshed"
        self.stdout.write(
            f"Role {name} {verb}: {len(append_only_tables())} append-only tables take only new rows from it."
        )
