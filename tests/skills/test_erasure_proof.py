"""Erasure proves itself: canaries that stood in every place where words can stand are in none afterwards."""

import logging
import sqlite3
from io import StringIO
from pathlib import Path

import pytest
from django.apps import apps
from django.core.cache import caches
from django.core.management import CommandError, call_command
from django.core.management.base import SystemCheckError
from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.core.kept import TABLES, Erasing
from athletes.models import Athlete, Erasure, Membership, Person, Remark
from athletes.services.audit import first_broken_link
from athletes.services.erasure import erase_person
from athletes.services.erasure_list import erasures_stand, list_path
from athletes.services.remarks import keep_remark
from athletes.services.rights import note_rights
from gymtrack.lib.scrub import compact, empty_log
from skills.core.month import Month
from skills.queries.months import month_csv
from skills.services.cautions import enter_caution
from tests.architecture.routes import OWNER, PAGES, page_patterns
from tests.factories.athletes import PASSWORD, Role, make_account, make_athlete, make_member
from tests.factories.skills import days_before_now, library, log, meet, start_class
from tests.helpers import canary
from tests.helpers.floor import enrolled, held
from tests.helpers.floor_acts import act_of, hold_body, receipt
from tests.helpers.flush import append_only_tables, guards_lifted

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def data_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    yield tmp_path
    caches["default"].clear()  # no test's rows are emptied there


@pytest.fixture
def xylia(gym, data_folder) -> Athlete:
    """She practises, coaches, and has a log-in."""
    return make_athlete(gym, canary.NAME)


@pytest.fixture
def her_membership(xylia) -> Membership:
    member = Membership.objects.create(
        gym=xylia.gym, account=make_account(canary.MAIL), person=xylia.person, role=Role.COACH, may_log=True
    )
    note_rights(membership=member, rights=["may_log"], at=member.started_at)
    return member


def test_no_table_has_a_word_of_who_was_erased(  # noqa: PLR0917 (fixtures)
    gym, owner, minor, xylia, her_membership, data_folder
):
    library(gym, owner)
    seeding = canary.Seeding(gym, xylia.person, her_membership)
    seeding._rows["athletes.Athlete"] = xylia
    seeded = seeding.seed_all()
    things = seeding.name_things()
    keep_remark(gym=gym, subject=minor.person, about=minor.id, text=f"Fell on {canary.NAME}.")
    canary.fill_cache()
    # Every table that can lead to a person is among them, and each one in which words can stand had a canary.
    assert seeded >= {label for label, line in TABLES.items() if line.of and not label.startswith(("mfa", "userse"))}
    before = canary.tables_with_canaries()
    wordy = {label for label in seeded if TABLES[label].empties and label != "sessions.Session"}
    tables = {type(seeding.row(label))._meta.db_table for label in wordy}
    assert tables <= before.keys()
    assert len(tables) >= 6
    assert things >= {"skills.Bar", "skills.WorkPlace", "athletes.Tablet"}
    assert {type(seeding.row(label))._meta.db_table for label in things} <= before.keys()

    counts = _rows_of_facts()
    erase_person(person=xylia.person, by=owner)

    assert canary.tables_with_canaries() == {}
    assert canary.files_with_canaries(data_folder) == []
    assert first_broken_link(gym) is None
    assert {label: number for label, number in _rows_of_facts().items() if number < counts[label]} == {}
    assert Remark.objects.get().text == "Fell on erased."


def _rows_of_facts() -> dict[str, int]:
    return {
        label: apps.get_model(label)._default_manager.count()
        for label, line in TABLES.items()
        if line.erasing is Erasing.FACT
    }


@pytest.mark.sqlite_only
def test_the_file_of_the_database_has_no_word_either(gym, owner, xylia, her_membership):
    library(gym, owner)
    seeding = canary.Seeding(gym, xylia.person, her_membership)
    seeding._rows["athletes.Athlete"] = xylia
    seeding.seed_all()
    canary.fill_cache()
    for number in range(300):  # more than a page of them
        keep_remark(gym=gym, subject=xylia.person, about=xylia.id, text=f"{canary.WORD} {number}")
    assert canary.found_in(canary.bytes_of_database())
    erase_person(person=xylia.person, by=owner)
    assert canary.found_in(canary.bytes_of_database()) == []


@pytest.mark.sqlite_only
def test_what_was_deleted_before_bytes_were_overwritten_goes_when_the_file_is_compacted(gym, owner, xylia):
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA secure_delete")
        assert cursor.fetchone() == (1,)  # as the settings say
        cursor.execute("PRAGMA secure_delete=OFF")
        for number in range(300):
            keep_remark(gym=gym, subject=xylia.person, about=xylia.id, text=f"{canary.WORD} {number}")
        Remark.objects.all().delete()
        cursor.execute("PRAGMA secure_delete=ON")
    erase_person(person=xylia.person, by=owner)
    assert canary.found_in(canary.bytes_of_database()) == ["quetzalcanary"]
    assert compact([]) == ""
    assert canary.found_in(canary.bytes_of_database()) == []
    assert empty_log()


def test_nothing_of_a_season_of_use_is_left(  # noqa: PLR0917 (fixtures)
    gym, owner, coach, xylia, her_membership, client_of, client, data_folder, caplog, capfd
):
    """Through pages, tablets and commands, as people use them; then pages, files, logs and tables are read."""
    caplog.set_level(logging.DEBUG)
    library(gym, owner)
    Person.objects.filter(pk=xylia.person_id).update(email=canary.MAIL, notes=canary.WORD)
    session = start_class(coach, xylia)
    meet(coach, xylia, "pullover-1")
    device = enrolled(owner)
    held(device, coach)
    body = {"session": str(session.id), "name": canary.NAME, "is_minor": False}
    guest = act_of("guest", coach, body)
    hold = act_of("attempt", coach, hold_body(session, xylia, note=canary.WORD))
    assert [receipt(device.by(coach), act)["status"] for act in (guest, hold)] == ["stored"] * 2
    hurt = log(coach, xylia, "pullover-1", 5.0, session=session, pain=True, note=canary.WORD)
    about = {"by": coach, "athlete": xylia, "loads": frozenset({"landing"})}
    caution = enter_caution(**about, from_at=days_before_now(0), until_at=None, reason=canary.WORD)
    staff = client_of(coach)
    staff.post(reverse("attempt_void", args=[hurt.id]), {"why": "other", "words": canary.WORD})
    staff.post(reverse("caution_lift", args=[caution.id]))
    # Signing in with a wrong and a right password, a forgotten one, and an address of nobody.
    client.post(reverse("account_login"), {"login": canary.MAIL, "password": "wrong"})
    client.post(reverse("account_login"), {"login": canary.MAIL, "password": PASSWORD})
    client.post(reverse("account_reset_password"), {"email": canary.MAIL})
    owners = client_of(owner)
    owners.get(reverse("athlete", args=[xylia.id]))
    month = Month.at(timezone.now(), gym.time_zone)
    figures = _figures(month_csv(gym, month))
    assert canary.files_with_canaries(data_folder) != []  # the mail
    assert canary.tables_with_canaries().keys() >= {"athletes_person", "athletes_remark", "athletes_account"}

    assert owners.post(reverse("erasure", args=[xylia.person_id]), {"sure": "on"}).status_code == 303
    erase_person(person=Athlete.objects.get(pk=guest["id"]).person, by=owner)

    assert canary.tables_with_canaries() == {}
    assert canary.files_with_canaries(data_folder) == []
    assert first_broken_link(gym) is None
    after = _figures(month_csv(gym, month))
    assert after == [row.replace(canary.NAME, "erased") for row in figures]
    assert _pages_with_canaries(owners) == []
    assert "erased" in owners.get(reverse("acts")).content.decode()
    floor = device.by(coach).get("today/").content.decode()
    assert canary.found_in(floor) == []
    told = capfd.readouterr()
    assert canary.found_in(caplog.text + told.out + told.err) == []


def _figures(content: bytes) -> list[str]:
    return [row for row in content.decode("utf-8-sig").splitlines() if "audit_chain" not in row]


def _pages_with_canaries(owners) -> list[str]:
    names = [name for name, page in PAGES.items() if "owner" in page.may and page.method == "get" and not page.record]
    plain = [name for name in names if not page_patterns()[name].pattern.converters]
    assert len(plain) > 10
    assert PAGES["erasures"].may == OWNER
    found = []
    for name in plain:
        answer = owners.get(reverse(name), follow=True)
        content = b"".join(answer.streaming_content) if answer.streaming else answer.content
        if canary.found_in(content.decode(errors="replace")):
            found.append(name)
    return found


class Backup:
    """All rows of all tables, as a dump has them, and their way back."""

    def __init__(self, folder: Path) -> None:
        self._copy = folder / "backup.sqlite3"
        self._rows: dict[str, list[tuple[str, ...]]] = {}
        if connection.vendor == "sqlite":
            with sqlite3.connect(self._copy) as copy:
                connection.connection.backup(copy)
            copy.close()
        else:
            with connection.cursor() as cursor:
                for table in connection.introspection.table_names(cursor):
                    cursor.execute(f"SELECT {table}::text FROM {table}")  # noqa: S608
                    self._rows[table] = cursor.fetchall()

    def restore(self) -> None:
        if connection.vendor == "sqlite":
            copy = sqlite3.connect(self._copy)
            copy.backup(connection.connection)
            copy.close()
            return
        with guards_lifted(), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
            for table, rows in self._rows.items():
                cursor.execute(f"DELETE FROM {table}")  # noqa: S608
                for (row,) in rows:
                    cursor.execute(f"INSERT INTO {table} SELECT (%s::{table}).*", [row])


@pytest.mark.usefixtures("her_membership")
def test_a_backup_that_is_restored_is_erased_again(  # noqa: PLR0917 (fixtures)
    gym, owner, coach, athlete, xylia, data_folder, tmp_path_factory
):
    library(gym, owner)
    log(coach, xylia, "pullover-1", 5.0, note=canary.WORD)
    backup = Backup(tmp_path_factory.mktemp("backups"))
    erase_person(person=xylia.person, by=owner)
    erase_person(person=athlete.person, by=owner)
    assert erasures_stand(databases=["default"]) == []

    backup.restore()
    assert {*Person.objects.filter(erased_at=None).values_list("full_name", flat=True)} >= {
        canary.NAME,
        "Ada Lindqvist",
    }
    assert canary.tables_with_canaries() != {}
    (warning,) = erasures_stand(databases=["default"])
    assert (warning.id, "2" in warning.msg) == ("athletes.W002", True)
    assert "replay_erasures" in str(warning.hint)

    lines = list_path().read_text()
    said = StringIO()
    call_command("replay_erasures", stdout=said)
    assert said.getvalue() == "2 people erased again, of 2 noted.\n"
    assert canary.tables_with_canaries() == {}
    assert list_path().read_text() == lines
    assert first_broken_link(gym) is None
    assert erasures_stand(databases=["default"]) == []

    said = StringIO()
    call_command("replay_erasures", stdout=said)
    assert said.getvalue() == "0 people erased again, of 2 noted.\n"
    assert Erasure.objects.count() == 2


def test_a_line_that_somebody_wrote_into_the_list_erases_nobody(gym, owner, athlete, minor, data_folder):
    erase_person(person=athlete.person, by=owner)
    forged = list_path().read_text().replace(str(athlete.person_id), str(minor.person_id))
    list_path().write_text(list_path().read_text() + forged)
    with pytest.raises(CommandError, match="Not everything"):
        call_command("replay_erasures", stdout=StringIO(), stderr=StringIO())
    assert Person.objects.get(pk=minor.person_id).erased_at is None
    assert [warning.id for warning in erasures_stand(databases=["default"])] == ["athletes.W001"]


def test_a_list_that_was_lost_is_missed(gym, owner, athlete, data_folder):
    erase_person(person=athlete.person, by=owner)
    list_path().unlink()
    assert [warning.id for warning in erasures_stand(databases=["default"])] == ["athletes.W003"]
    with pytest.raises(SystemCheckError):
        call_command("check", databases=["default"], fail_level="WARNING", stderr=StringIO())


def test_where_the_tables_are_of_another_version_nothing_is_warned_of(gym, owner, athlete, data_folder, monkeypatch):
    erase_person(person=athlete.person, by=owner)
    list_path().unlink()
    with monkeypatch.context() as before_the_migration:
        before_the_migration.setattr(Erasure._meta, "db_table", "of_another_version")
        assert erasures_stand(databases=["default"]) == []
    assert erasures_stand(databases=["default"]) != []


def test_a_gym_of_another_installation_on_the_list_is_passed_over(gym, owner, athlete, other_gym, data_folder):
    stranger = make_member(other_gym, Role.OWNER, "Oona Varga")
    erase_person(person=athlete.person, by=owner)
    call_command("replay_erasures", stdout=StringIO())
    assert Person.objects.get(pk=stranger.person_id).erased_at is None


def test_the_tables_of_facts_are_those_that_the_database_guards(db):
    facts = {apps.get_model(label)._meta.db_table for label, line in TABLES.items() if line.erasing is Erasing.FACT}
    assert facts >= {table for table in append_only_tables() if "version" not in table}
