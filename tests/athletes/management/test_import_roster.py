"""`manage.py import_roster`."""

import io

import pytest
from django.core.management import CommandError, call_command

from athletes.core.roster_file import MOST_BYTES
from athletes.models import Athlete, AuditEntry, BodyMeasure

GOOD = "name,birth_date,stature_m\nBo Berg,1999-04-02,1.81\nCy Chen,,\n"
BAD = "name,birth_date\nBo Berg,1999-04-02\nCy Chen,soon\n,2001-01-01\n"

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(tmp_path, gym):
    """Write the text into a file and import it; returns what was printed on stdout, on stderr, and the error."""

    def imported(text: str | bytes, *options: str) -> tuple[str, str, str]:
        file = tmp_path / "roster.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        out, err, error = io.StringIO(), io.StringIO(), ""
        try:
            call_command("import_roster", str(file), "--gym", gym.slug, *options, stdout=out, stderr=err)
        except CommandError as refused:
            error = f"{refused} (exit code {refused.returncode})"
        return out.getvalue(), err.getvalue(), error

    return imported


def test_a_good_file_goes_in_and_the_same_file_again_adds_nothing(run):
    assert run(GOOD) == ("Harbour Hall: 2 athletes added, 0 already on the roster.\n", "", "")
    assert run(GOOD) == ("Harbour Hall: 0 athletes added, 2 already on the roster.\n", "", "")
    assert list(Athlete.objects.values_list("number", "person__full_name")) == [(1, "Bo Berg"), (2, "Cy Chen")]
    assert BodyMeasure.objects.count() == 1
    assert AuditEntry.objects.count() == 1


def test_a_new_measure_of_who_is_known_is_told(run):
    run(GOOD)
    out, _, _ = run(GOOD.replace("1.81", "1.82"))
    assert out == "Harbour Hall: 0 athletes added, 2 already on the roster (1 with new measures).\n"


def test_nothing_is_stored_of_a_file_with_bad_lines(run):
    out, err, error = run(BAD)
    assert out == ""
    assert err.splitlines() == [
        "line 3, column birth_date: “soon” is no date; write it like 2011-05-30.",
        "line 4, column name: A name is missing.",
    ]
    what = "Mend the file, or leave such lines out with --skip-bad."
    assert error == f"Nothing was stored: 2 lines have something wrong. {what} (exit code 1)"
    assert not Athlete.objects.exists()


def test_bad_lines_can_be_left_out(run):
    out, err, error = run(BAD, "--skip-bad")
    assert error == ""
    assert len(err.splitlines()) == 2
    expected = "1 athlete added, 0 already on the roster. 2 lines have something wrong and stayed out."
    assert out == f"Harbour Hall: {expected}\n"
    assert Athlete.objects.get().person.full_name == "Bo Berg"


def test_a_bad_header_stops_the_import_even_then(run):
    out, err, error = run("name,height\nBo Berg,1.81\n", "--skip-bad")
    assert (out, error) == ("", "Nothing was stored: the file as a whole has something wrong. (exit code 1)")
    assert err.startswith("line 1, column height: ")
    assert not Athlete.objects.exists()


def test_a_file_over_the_limit_is_refused(run):
    _, err, error = run(b"name\n" + b"x" * MOST_BYTES)
    assert error == "Nothing was stored: the file as a whole has something wrong. (exit code 1)"
    assert err.startswith("line 1: The file has ")


def test_a_file_that_is_not_there_is_named(gym, tmp_path):
    with pytest.raises(CommandError, match=r"none\.csv cannot be read: No such file or directory"):
        call_command("import_roster", str(tmp_path / "none.csv"), "--gym", gym.slug)


def test_a_folder_is_no_file(gym, tmp_path):
    with pytest.raises(CommandError, match="cannot be read: Is a directory"):
        call_command("import_roster", str(tmp_path), "--gym", gym.slug)


def test_an_unknown_gym_is_answered_with_the_known_ones(gym, other_gym, tmp_path):
    with pytest.raises(CommandError, match="There is no gym 'haven'; there is: harbour, uptown"):
        call_command("import_roster", str(tmp_path), "--gym", "haven")


def test_one_gyms_roster_is_not_the_others(run, other_gym, tmp_path):
    run(GOOD)
    assert not Athlete.objects.filter(gym=other_gym).exists()


def test_a_dry_run_tells_all_and_stores_nothing(run):
    out, err, error = run(BAD, "--dry-run")
    assert error == ""
    assert len(err.splitlines()) == 2
    told = "1 athlete would be added, 0 already on the roster. 2 lines have something wrong. Nothing was stored."
    assert out == f"Harbour Hall: {told}\n"
    assert not Athlete.objects.exists()
    run(GOOD)
    out, _, _ = run(GOOD.replace("1.81", "1.82"), "--dry-run")
    told = "0 athletes would be added, 2 already on the roster (1 with new measures). Nothing was stored."
    assert out == f"Harbour Hall: {told}\n"
    assert BodyMeasure.objects.count() == 1


LIKE = "name,birth_date\nBö Berg,1999-04-02\nDi Roy,\n"


def test_who_resembles_somebody_is_never_added_without_a_word(run):
    run(GOOD)
    out, err, error = run(LIKE)
    assert err == "Line 2: Bö Berg, born on 2 April 1999: the same name as number 1, Bo Berg, born on 2 April 1999.\n"
    assert (out, error.split(". ")[0]) == ("", "Nothing was stored: 1 line may be of somebody on the roster")
    assert Athlete.objects.count() == 2


@pytest.mark.parametrize(
    ("similar", "told", "count"),
    [
        ("add", "2 athletes added, 0 already on the roster.", 4),
        ("leave", "1 athlete added, 0 already on the roster, 1 left as it was.", 3),
    ],
)
def test_who_resembles_somebody_is_added_or_left_as_told(run, similar, told, count):
    run(GOOD)
    assert run(LIKE, "--similar", similar)[0] == f"Harbour Hall: {told}\n"
    assert Athlete.objects.count() == count
