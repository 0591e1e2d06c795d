"""What commands have in common: naming a gym, reading a file, telling what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from django.core.management.base import CommandError

from athletes.core.csv_table import Problem
from athletes.models import Gym
from athletes.queries.gyms import gym_by_slug, gym_slugs
from athletes.wording import bad_lines


def gym_named(slug: str) -> Gym:
    """Return the gym with that short name; raises CommandError with the known ones."""
    gym = gym_by_slug(slug)
    if gym is None:
        raise CommandError(f"There is no gym {slug!r}; there is: {', '.join(gym_slugs()) or 'none yet'}.")
    return gym


def file_content(path: Path, *, most_bytes: int) -> bytes:
    """Return a file's bytes, one more than `most_bytes` at the most; raises CommandError."""
    try:
        with path.open("rb") as file:
            return file.read(most_bytes + 1)
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error


def refuse_bad_lines(file_problems: Sequence[Problem], row_problems: Sequence[Problem], *, skip_bad: bool) -> None:
    """Raise CommandError where nothing may be stored: a bad file, or bad lines that are not to be left out."""
    if file_problems:
        raise CommandError("Nothing was stored: the file as a whole has something wrong.")
    if row_problems and not skip_bad:
        lines = bad_lines(len({problem.line for problem in row_problems}))
        raise CommandError(f"Nothing was stored: {lines}. Mend the file, or leave such lines out with --skip-bad.")
