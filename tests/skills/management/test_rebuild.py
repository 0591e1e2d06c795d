"""A rebuild as an administrator runs it: told how far it is, interrupted in three ways, gone on with, begun anew."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit
from uuid import UUID

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.models import Athlete, Caution, CautionLift, Gym, Membership
from skills.management.places import Place, PlaceFile
from skills.models import Attempt, AttemptVoid, Opening, SignOff, StepTimeline
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, meet

pytestmark = pytest.mark.django_db(transaction=True)
LONGEST_SECONDS = 60


@pytest.fixture
def place_file() -> Iterator[Path]:
    path = Path(settings.DATA_DIR, "rebuild.json")
    path.unlink(missing_ok=True)
    yield path
    path.unlink(missing_ok=True)


@pytest.fixture
def athletes(gym: Gym, owner: Membership, coach: Membership, place_file: Path) -> list[Athlete]:
    """Four athletes with one passed step each, and every kept timeline spoiled."""
    library(gym, owner)
    people = [make_athlete(gym, f"Person {number} Example") for number in range(1, 5)]
    for person in people:
        meet(coach, person, "pullover-1")
    _spoil()
    return sorted(people, key=lambda person: person.id)


def _spoil() -> None:
    for row in StepTimeline.objects.filter(step__code="pullover-1"):
        StepTimeline.objects.filter(pk=row.pk).update(changes=row.changes.replace('"working"', '"paused"'))


def _spoiled() -> list[UUID]:
    """Athletes with a spoiled timeline, by id."""
    return sorted(StepTimeline.objects.filter(changes__contains='"paused"').values_list("athlete_id", flat=True))


def _url() -> str:
    """The test database, which bears another name than the one in the environment."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    return urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{name}").geturl()


@contextmanager
def _held_up(at: int, *arguments: str) -> Iterator["subprocess.Popen[str]"]:
    """A rebuild in a process of its own that waits in the middle of the athlete with that place in the order."""
    program = (sys.executable, "-m", "tests.skills.management.slow_rebuild", str(at), *arguments)
    environ = {**os.environ, "DATABASE_URL": _url(), "GYMTRACK_DATA": str(settings.DATA_DIR)}
    pipe = subprocess.PIPE
    with subprocess.Popen(
        program, cwd=settings.BASE_DIR, env=environ, stdin=pipe, stdout=pipe, stderr=pipe, text=True
    ) as process:
        try:
            _wait_until_held_up(process)
            yield process
        finally:
            process.kill()


def _wait_until_held_up(process: "subprocess.Popen[str]") -> None:
    assert process.stdout
    for line in process.stdout:
        if line == "held up\n":
            return
    assert process.stderr
    pytest.fail(f"It ended: {process.stderr.read()}")


@pytest.mark.parametrize("kind", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupted_rebuild_keeps_what_is_done_and_says_how_to_go_on(
    athletes: list[Athlete], place_file: Path, kind: signal.Signals
) -> None:
    with _held_up(3, "--gym", "harbour") as process:
        process.send_signal(kind)
        _, said = process.communicate(timeout=LONGEST_SECONDS)
    assert process.returncode == 130
    assert "Interrupted after 2 of 4 athletes." in said
    assert said.strip().endswith("Go on with: python3 manage.py rebuild --gym harbour --resume")
    assert _spoiled() == [athlete.id for athlete in athletes[2:]]
    assert place_file.exists()


def test_a_rebuild_that_was_killed_goes_on_where_it_stopped(
    athletes: list[Athlete], place_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with _held_up(3) as process:
        process.send_signal(signal.SIGKILL)
        process.wait(timeout=LONGEST_SECONDS)
    assert _spoiled() == [athlete.id for athlete in athletes[2:]]
    _spoil()  # those before the place too, which must be left alone
    call_command("rebuild", "--resume")
    assert "interrupted after 2 of 4 athletes" in capsys.readouterr().err
    assert _spoiled() == [athlete.id for athlete in athletes[:2]]
    assert not place_file.exists()


def test_a_rebuild_after_one_that_was_interrupted_starts_anew_and_says_so(
    athletes: list[Athlete], place_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with _held_up(2) as process:
        process.send_signal(signal.SIGKILL)
    _spoil()
    call_command("rebuild")
    said = capsys.readouterr()
    assert "interrupted after 1 of 4 athletes. This one starts anew; --resume would go on" in said.err
    assert "4 of 4 athletes" in said.err
    assert "4 athletes looked at" in said.out
    assert _spoiled() == []
    assert not place_file.exists()


def test_facts_that_arrive_meanwhile_are_kept_true(
    coach: Membership, athletes: list[Athlete], place_file: Path
) -> None:
    """One for an athlete who is done, one for who comes next, and somebody new."""
    with _held_up(3) as process:
        process.send_signal(signal.SIGKILL)
    meet(coach, athletes[0], "toes-1")
    meet(coach, athletes[3], "toes-1")
    meet(coach, make_athlete(coach.gym, "Late Example"), "toes-1")
    call_command("rebuild", "--resume")
    call_command("rebuild", "--check")


def test_a_check_that_goes_on_remembers_what_it_had_found(athletes: list[Athlete], place_file: Path) -> None:
    with _held_up(3, "--check") as process:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=LONGEST_SECONDS)
    with pytest.raises(CommandError, match="4 timelines of 4 athletes differ"):
        call_command("rebuild", "--check", "--resume")
    assert len(_spoiled()) == 4


def test_another_rebuild_than_the_interrupted_one_is_not_gone_on_with(
    athletes: list[Athlete], place_file: Path
) -> None:
    with _held_up(2, "--check") as process:
        process.send_signal(signal.SIGKILL)
    with pytest.raises(CommandError, match=r"another one, rebuild --check of .*: start without --resume"):
        call_command("rebuild", "--resume")
    assert len(_spoiled()) == 4


@pytest.mark.parametrize("content", ["", "{", "[]", "3", '["rebuild", "x", 0]', '["rebuild", 7, 0]'])
def test_a_place_that_cannot_be_read_is_none(place_file: Path, content: str) -> None:
    place_file.write_text(content, encoding="utf-8")
    assert PlaceFile(place_file).read() is None


def test_a_place_is_read_as_it_was_kept(place_file: Path) -> None:
    place = Place("rebuild of gym", UUID("01890000-0000-7000-8000-000000000000"), 3)
    PlaceFile(place_file).keep(place)
    assert PlaceFile(place_file).read() == place


def test_going_on_without_a_place_starts_anew_and_says_so(
    athletes: list[Athlete], capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("rebuild", "--resume")
    assert "Nothing was interrupted" in capsys.readouterr().err
    assert _spoiled() == []


def test_each_table_of_facts_is_read_once_for_each_athlete(athletes: list[Athlete]) -> None:
    with CaptureQueriesContext(connection) as queries:
        call_command("rebuild")
    asked = [query["sql"] for query in queries if query["sql"].startswith("SELECT")]
    for table in (model._meta.db_table for model in (Attempt, AttemptVoid, Opening, SignOff, Caution, StepTimeline)):
        assert sum(f'FROM "{table}"' in sql for sql in asked) == len(athletes), table
    assert not any(f'FROM "{CautionLift._meta.db_table}"' in sql for sql in asked)  # nobody has a caution
