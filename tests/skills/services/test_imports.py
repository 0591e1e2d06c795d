"""Bringing attempts in: all or nothing, once, with the readiness that follows."""

from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid5

import pytest
from django.core.management import CommandError, call_command

from athletes.models import Athlete, AuditEntry, Gym, Membership
from athletes.services.audit import first_broken_link
from skills.models import Attempt, Attendance, Opening, TrainingSession
from skills.queries.books import book_of
from skills.services.attempts import AttemptRefusedError
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, log, measure_angle
from tests.helpers.standing import standing_now

HEADER = "athlete,step,date,time,seconds,reps,faults,assistance,session,source\r\n"


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership, athlete: Athlete) -> None:
    library(gym, owner)


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    return tmp_path / "holds.csv"


def _import(sheet: Path, gym: Gym, *rows: str, **options: object) -> None:
    sheet.write_text(HEADER + "".join(f"{row}\r\n" for row in rows), encoding="utf-8", newline="")
    call_command("import_attempts", str(sheet), gym=gym.slug, **options)


GOOD = (
    "Ada Lindqvist,pullover-1,2026-03-02,18:05,5.29,1,,none,Monday class,judged",
    "Ada Lindqvist,pullover-1,2026-03-02,18:09,5,1,,,Monday class,judged",
    "ada  LINDQVIST,Tucked hold in a long-arm hang,2026-03-04,18:05,6.1,,,,,judged",
)


def test_holds_from_a_sheet_pass_the_step_and_open_the_next(sheet: Path, gym: Gym, athlete: Athlete) -> None:
    _import(sheet, gym, *GOOD)
    assert list(Attempt.objects.order_by("happened_at").values_list("hold_tenths", flat=True)) == [52, 50, 61]
    assert standing_now(athlete, "pullover-1").base in {"passed", "recheck"}
    opened = Opening.objects.get(athlete=athlete, step__code="pullover-3").happened_at
    assert opened == datetime(2026, 3, 4, 17, 5, tzinfo=UTC)
    call_command("rebuild", "--check")


def test_tries_from_before_ask_for_no_consent_and_the_command_says_so(
    sheet: Path, gym: Gym, coach: Membership, athlete: Athlete, capsys: pytest.CaptureFixture[str]
) -> None:
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)
    _import(sheet, gym, "1,pullover-1,2026-03-02,18:05,5,1,,spot,,judged")
    assert Attempt.objects.get().assistance == "spot"
    assert "stored without asking for consents to spotting or going upside down" in capsys.readouterr().out
    with pytest.raises(AttemptRefusedError, match="no consent to hands-on spotting"):
        log(coach, athlete, "pullover-1", 5.0, assistance="spot")
    Gym.objects.filter(pk=gym.pk).update(asks_consent=False)
    _import(sheet, gym, "1,pullover-1,2026-03-03,18:05,5,1,,spot,,judged")
    assert "without asking" not in capsys.readouterr().out


def test_a_class_on_a_day_becomes_one_session(sheet: Path, gym: Gym, athlete: Athlete) -> None:
    _import(sheet, gym, *GOOD)
    session = TrainingSession.objects.get()
    assert (session.name, session.starts_at) == ("Monday class", datetime(2026, 3, 2, 17, 5, tzinfo=UTC))
    assert session.ended_at == datetime(2026, 3, 2, 17, 9, tzinfo=UTC)
    assert Attendance.objects.get().athlete == athlete
    assert Attempt.objects.filter(session=session).count() == 2


def test_an_angle_from_a_sheet_is_kept_where_the_step_says_which_one(
    sheet: Path, gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "athlete,step,date,seconds,angle\r\nAda Lindqvist,pullover-1,2026-03-02,5,90\r\n"
    sheet.write_text(rows + "Ada Lindqvist,pullover-1,2026-03-03,5,\r\n", encoding="utf-8", newline="")
    with pytest.raises(CommandError):
        call_command("import_attempts", str(sheet), gym=gym.slug)
    assert "line 2, column angle: No angle is measured at this step: leave the degrees out." in capsys.readouterr().err
    measure_angle(gym, "pullover-1")
    call_command("import_attempts", str(sheet), gym=gym.slug)
    assert [*Attempt.objects.order_by("happened_at").values_list("angle_degrees", flat=True)] == [90, None]


def test_a_row_without_an_angle_has_the_id_that_it_had_before_there_were_angles(sheet: Path, gym: Gym) -> None:
    _import(sheet, gym, GOOD[0])
    [attempt] = Attempt.objects.all()
    told = (
        "Result(hold_tenths=52, reps=1, unbroken=True, assistance='none', variant='', faults=(), missed=(), "
        "effort=None, pain=False, grade=0)"
    )
    content = f"{attempt.athlete_id}|pullover-1|2026-03-02T17:05:00+00:00|{told}|judged|Monday class|1"
    assert attempt.id == uuid5(gym.id, content)


def test_the_same_file_twice_adds_nothing(sheet: Path, gym: Gym) -> None:
    _import(sheet, gym, *GOOD)
    before = set(Attempt.objects.values_list("id", flat=True))
    _import(sheet, gym, *GOOD)
    assert set(Attempt.objects.values_list("id", flat=True)) == before
    assert TrainingSession.objects.count() == 1
    assert AuditEntry.objects.filter(gym=gym, act="attempts_imported").count() == 1
    assert first_broken_link(gym) is None


def test_equal_rows_are_two_attempts(sheet: Path, gym: Gym) -> None:
    _import(sheet, gym, GOOD[0], GOOD[0])
    _import(sheet, gym, GOOD[0], GOOD[0])
    assert Attempt.objects.count() == 2


def test_a_fault_may_be_named_by_code_or_name(sheet: Path, gym: Gym) -> None:
    (code, name), (other, _) = book_of(Gym.objects.get(pk=gym.pk)).steps["pullover-1"].faults[:2]
    _import(sheet, gym, f'1,pullover-1,2026-03-02,18:05,5,1,"{name} | {other}",none,,judged')
    assert Attempt.objects.get().faults == sorted([code, other])


def test_a_sheet_that_does_not_say_who_watched_is_counted_and_not_judged(sheet: Path, gym: Gym) -> None:
    _import(sheet, gym, "1,pullover-1,2026-03-02,,5,,,,,")
    attempt = Attempt.objects.get()
    assert (attempt.source, attempt.happened_at) == ("counted", datetime(2026, 3, 2, 11, 0, tzinfo=UTC))


BAD = (
    ("Nobody Known,pullover-1,2026-03-02,18:05,5,1,,,,", "column athlete", "no athlete"),
    ("1,pullover-99,2026-03-02,18:05,5,1,,,,", "column step", "no step"),
    ("1,pullover-1,02.03.2026,18:05,5,1,,,,", "column date", "no date"),
    ("1,pullover-1,2026-03-02,25:05,5,1,,,,", "column time", "no time of day"),
    ("1,pullover-1,2026-03-29,02:30,5,1,,,,", "column time", "did not exist"),
    ("1,pullover-1,2126-03-02,18:05,5,1,,,,", "column date", "in the future"),
    ("1,pullover-1,1926-03-02,18:05,5,1,,,,", "column date", "before 1990"),
    ("1,pullover-1,2026-03-02,18:05,-5,1,,,,", "column seconds", "negative"),
    ("1,pullover-1,2026-03-02,18:05,five,1,,,,", "column seconds", "not a length"),
    ("1,pullover-1,2026-03-02,18:05,,4,,,,", "column seconds", "enter the seconds"),
    ("1,pullover-3,2026-03-02,18:05,5,1,,,,", "column seconds", "leave the seconds out"),
    ("1,pullover-1,2026-03-02,18:05,5,0,,,,", "column reps", "from 1 to 500"),
    ("1,pullover-1,2026-03-02,18:05,5,1,flies,,,", "column faults", "no fault 'flies'"),
    ("1,pullover-1,2026-03-02,18:05,5,1,,rocket,,", "column assistance", "none, band"),
    ("1,pullover-1,2026-03-02,18:05,5,1,,,,heard", "column source", "not one of"),
    (",pullover-1,2026-03-02,18:05,5,1,,,,", "column athlete", "empty"),
    ("1,pullover-1", "line 3", "2 cells"),
)


@pytest.mark.parametrize("bad", BAD, ids=lambda bad: bad[0])
def test_a_bad_row_is_named_by_line_and_column_and_nothing_is_stored(
    sheet: Path, gym: Gym, capsys: pytest.CaptureFixture[str], bad: tuple[str, str, str]
) -> None:
    """02:30 on 29 March 2026 does not exist in Berlin: the IANA time zone database moves 02:00 to 03:00."""
    row, place, words = bad
    with pytest.raises(CommandError, match="Nothing was stored"):
        _import(sheet, gym, GOOD[0], row)
    told = capsys.readouterr().err
    assert told.startswith("line 3")
    assert place in told
    assert words in told
    assert not Attempt.objects.exists()


def test_skip_bad_stores_the_good_rows(sheet: Path, gym: Gym, capsys: pytest.CaptureFixture[str]) -> None:
    _import(sheet, gym, GOOD[0], BAD[0][0], GOOD[1], skip_bad=True)
    assert Attempt.objects.count() == 2
    told = capsys.readouterr().out.splitlines()[-1]
    assert told == "2 attempts stored, 0 were known already. 1 line has something wrong and stayed out."


def test_two_athletes_of_one_name_are_told_apart_by_number(
    sheet: Path, gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    make_athlete(gym, "Ada Lindqvist")
    with pytest.raises(CommandError):
        _import(sheet, gym, GOOD[0])
    assert "2 athletes are called" in capsys.readouterr().err
    _import(sheet, gym, GOOD[0].replace("Ada Lindqvist", "2"))
    assert Attempt.objects.get().athlete.number == 2


def test_the_hour_that_comes_twice_is_the_earlier_one(sheet: Path, gym: Gym) -> None:
    """02:30 on 25 October 2026 comes twice in Berlin (IANA time zone database); without a mark it is the first."""
    _import(sheet, gym, "1,pullover-1,2026-10-25,02:30,5,1,,,,")
    assert Attempt.objects.get().happened_at == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def test_a_stranger_is_not_the_coach_of_an_import(sheet: Path, gym: Gym, other_coach: Membership) -> None:
    with pytest.raises(CommandError, match="Nobody on the staff"):
        _import(sheet, gym, GOOD[0], by=other_coach.account.email)


def test_a_missing_file_is_one_sentence(gym: Gym) -> None:
    with pytest.raises(CommandError, match=r"nowhere\.csv cannot be read"):
        call_command("import_attempts", "nowhere.csv", gym=gym.slug)
