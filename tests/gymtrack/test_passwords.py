"""What a new password may be: OWASP ASVS 5.0, chapter 6.2, by its numbers."""

import hashlib
import runpy
from pathlib import Path

import pytest
from argon2 import extract_parameters
from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.contrib.auth.password_validation import CommonPasswordValidator, validate_password
from django.core.checks import run_checks
from django.core.exceptions import ValidationError

from athletes.access.passwords import is_leaked
from athletes.models import Account, Membership
from athletes.services.accounts import WeakPassword, draft_account

pytestmark = pytest.mark.django_db


def why_not(password: str, who: Account | None = None) -> str:
    try:
        validate_password(password, who)
    except ValidationError as error:
        return " ".join(error.messages)
    return ""


@pytest.mark.parametrize("password", [
    "abc defghi", "ten letters", "🤸" * 10, "体操体操体操体操体操", "q" * 64 + "z" * 64, "  blanks at both ends  ",
])  # fmt: skip
def test_any_ten_to_128_signs_will_do(password: str):
    """6.2.1, 6.2.5 (no signs are asked for), 6.2.8 (nothing is cut or changed), 6.2.9 (64 and more)."""
    assert why_not(password) == ""


@pytest.mark.parametrize("password", ["nine sign", "x" * 129])
def test_less_and_more_will_not(password: str):
    assert "characters" in why_not(password)


def test_blanks_and_case_count(coach: Membership):
    """6.2.8: exactly as it was received."""
    coach.account.set_password(" Long arms, quiet lats ")
    tried = [" Long arms, quiet lats ", "Long arms, quiet lats", " long arms, quiet lats "]
    assert [coach.account.check_password(password) for password in tried] == [True, False, False]


def test_the_commonest_are_refused():
    """6.2.4: at least the 3,000 commonest that fit the rule of length."""
    listed = CommonPasswordValidator().passwords
    assert len(listed) > 3000
    long_enough = sorted(password for password in listed if len(password) >= 10)
    assert long_enough
    assert [password for password in long_enough if "too common" not in why_not(password)] == []


@pytest.mark.parametrize("password", [
    "harbourhall", "Harbour Hall 1", "h-a-r-b-o-u-r-h-a-l-l-99", "gymtrack2026", "Gym Skills!", "cleo@harbour1",
])  # fmt: skip
def test_words_that_anybody_would_try_here_are_refused(coach: Membership, password: str):
    """6.2.11: words of this context are the gym's name, the product's, one's own address."""
    assert why_not(password, coach.account)


def test_whoever_founds_a_gym_or_joins_one_does_not_take_its_name():
    with pytest.raises(WeakPassword, match="little more than a name"):
        draft_account(email="new@nowhere.example", password="Mill Hall 1234", gym_name="Mill Hall")
    assert draft_account(email="new@nowhere.example", password="Mill Hall 1234").email == "new@nowhere.example"


def test_such_a_word_among_others_is_none(coach: Membership):
    assert why_not("I left the harbour hall at nine", coach.account) == ""


def test_a_draft_of_an_account_may_name_the_gym_that_it_is_for():
    draft = Account(email="new@nowhere.example")
    assert why_not("Uptown Loft 77", draft) == ""
    draft.near_words = ("Uptown Loft",)
    assert "little more than a name" in why_not("Uptown Loft 77", draft)


# ---- A file of leaked passwords ----------------------------------------------------------------------------------
LEAKED = ["correct horse battery", "a password of nobody", *(f"leak number {number}" for number in range(500))]


@pytest.fixture
def leaks(tmp_path: Path) -> Path:
    digests = sorted(hashlib.sha1(word.encode(), usedforsecurity=False).hexdigest().upper() for word in LEAKED)
    file = tmp_path / "leaks.txt"
    file.write_text("".join(f"{digest}:{count}\r\n" for count, digest in enumerate(digests)), "ascii")
    return file


def test_every_line_of_the_file_is_found_and_nothing_else(leaks: Path):
    """6.2.12, without asking another host."""
    assert [word for word in LEAKED if not is_leaked(word, leaks)] == []
    assert [word for word in (f"safe number {number}" for number in range(500)) if is_leaked(word, leaks)] == []


def test_a_file_without_counts_and_without_a_last_line_end_is_read_too(leaks: Path, tmp_path: Path):
    bare = tmp_path / "bare.txt"
    bare.write_text("\n".join(line[:40] for line in leaks.read_text("ascii").splitlines()), "ascii")
    assert [word for word in LEAKED if not is_leaked(word, bare)] == []
    bare.write_text("", "ascii")
    assert not is_leaked(LEAKED[0], bare)


def test_a_leaked_password_is_refused_where_there_is_a_file(settings, leaks: Path):
    assert why_not(LEAKED[0]) == ""
    settings.BREACHED_PASSWORDS = str(leaks)
    assert why_not(LEAKED[0]) == "This password is known from a leak: others try it first."


def test_a_file_that_is_not_there_is_told_at_the_start(settings, tmp_path: Path):
    assert [found.id for found in run_checks()] == []
    settings.BREACHED_PASSWORDS = str(tmp_path / "nothing.txt")
    assert [found.id for found in run_checks()] == ["athletes.E101"]


# ---- How it is stored --------------------------------------------------------------------------------------------
def test_the_hasher_is_argon2id_with_at_least_what_is_asked_for():
    """11.4.2; OWASP's password storage cheat sheet: Argon2id, 19 MiB, two passes, one lane, or more."""
    site = runpy.run_path(str(settings.BASE_DIR / "gymtrack" / "settings.py"))  # the tests have a quick one
    assert site["PASSWORD_HASHERS"][0] == "django.contrib.auth.hashers.Argon2PasswordHasher"
    given = extract_parameters(Argon2PasswordHasher().encode("x" * 10, "some salt").removeprefix("argon2"))
    assert given.type.name == "ID"
    assert (given.memory_cost >= 19 * 1024, given.time_cost >= 2, given.parallelism >= 1) == (True, True, True)
