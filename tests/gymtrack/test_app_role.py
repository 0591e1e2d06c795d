"""The site's own role on PostgreSQL may add to append-only tables and change nothing in them."""

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from athletes.models import Athlete, AuditEntry, Membership
from gymtrack.lib.app_role import append_only_tables
from skills.models import Attempt
from tests.factories.skills import library, log

ROLE = "gymtrack_app_of_tests"


@pytest.fixture
def as_the_site(monkeypatch: pytest.MonkeyPatch, owner: Membership, athlete: Athlete) -> Attempt:
    """Connected as the role; rolled back with the test, role and all. Gives an attempt that was stored before."""
    library(athlete.gym, owner)
    attempt = log(owner, athlete, "pullover-1", 5.0)
    monkeypatch.setenv("APP_ROLE_PASSWORD", "never-used-here")
    call_command("app_role", ROLE)
    with connection.cursor() as cursor:
        cursor.execute(f"GRANT {ROLE} TO CURRENT_USER")
        cursor.execute(f"SET LOCAL ROLE {ROLE}")
    return attempt


@pytest.mark.postgresql_only
@pytest.mark.parametrize("statement", ["UPDATE {} SET gym_id = gym_id", "DELETE FROM {}", "TRUNCATE {} CASCADE",
                                       "ALTER TABLE {} DISABLE TRIGGER USER", "DROP TABLE {} CASCADE"])  # fmt: skip
def test_append_only_tables_refuse_the_site_everything_but_new_rows(as_the_site: Attempt, statement: str) -> None:
    assert "skills_attempt" in append_only_tables()
    for table in append_only_tables():
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"), transaction.atomic():
            connection.cursor().execute(statement.format(table))


@pytest.mark.postgresql_only
def test_the_site_can_do_its_work(as_the_site: Attempt, owner: Membership, athlete: Athlete) -> None:
    before = AuditEntry.objects.count()
    log(owner, athlete, "pullover-1", 6.0)
    assert Attempt.objects.count() == 2
    assert AuditEntry.objects.count() == before + 1


@pytest.mark.postgresql_only
def test_a_password_is_needed(monkeypatch: pytest.MonkeyPatch, db: None) -> None:
    monkeypatch.delenv("APP_ROLE_PASSWORD", raising=False)
    with pytest.raises(CommandError, match="APP_ROLE_PASSWORD"):
        call_command("app_role", ROLE)


@pytest.mark.sqlite_only
def test_sqlite_has_no_roles(db: None) -> None:
    with pytest.raises(CommandError, match="Roles are PostgreSQL's"):
        call_command("app_role", ROLE)
