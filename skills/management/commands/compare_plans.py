"""Compare plans with what coaches do: `manage.py compare_plans [--gym SLUG] [--month YYYY-MM]`.

A month's classes are planned by the search, by people who choose in turn, and as a fixed circuit. The same month
gives the same table, in Markdown.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.models import Gym
from athletes.queries.gyms import gym_slugs
from skills.core.month import Month, NoSuchMonthError, month_named
from skills.core.rotation.compared import Total, compared
from skills.core.rotation.what_if import Minutes
from skills.queries.what_ifs import USUAL, PastClasses, past_classes
from skills.wording import counted

COLUMNS = ("", "idle minutes", "bars set anew", "rotations at the step in hand", "points", "off the best at most")


class Command(BaseCommand):
    help = "Compare plans with people who choose in turn and with a fixed circuit, over a month's classes."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", default="", metavar="SLUG", help="the gym's short name; not needed for one gym")
        parser.add_argument("--month", default="", metavar="MONTH", help="such as 2026-10; the last one unless given")

    def handle(self, *, gym: str, month: str, **_options: object) -> None:
        found = _gym(gym)
        past = past_classes(found, _month(found, month))
        if not past.classes:
            raise CommandError(f"No class with people in it was ended in {past.month}.")
        if not past.stations:
            raise CommandError("No station is described yet, so nobody has a place.")
        with _greeting_apart():
            lines = [*table(past)]
        for line in lines:
            self.stdout.write(line)


@contextmanager
def _greeting_apart() -> Iterator[None]:
    """Send what is written past Python to the terminal's errors: HiGHS greets on standard output, once a process."""
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def table(past: PastClasses) -> Iterator[str]:
    """Yield the lines of the table."""
    asks = [each.ask for each in past.classes]
    people, classes = sum(len(ask.people) for ask in asks), counted(len(asks), "class", "classes")
    yield _row((f"{past.month}, {classes} with {people} people in all", *COLUMNS[1:]))
    yield _row(("---", *["---:"] * (len(COLUMNS) - 1)))
    for total in compared(asks, Minutes(USUAL.rotation_minutes, USUAL.reset_minutes)):
        yield _row(_cells(total))


def _cells(total: Total) -> tuple[str, ...]:
    counts = (total.idle_minutes, total.resets, total.in_hand_rotations, total.worth)
    return (total.way, *(f"{count:,}" for count in counts), "" if total.gap is None else f"{total.gap:.1%}")


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(cells)} |"


def _gym(slug: str) -> Gym:
    slugs = gym_slugs()
    if not slug and len(slugs) != 1:
        raise CommandError(f"Say which gym with --gym: {', '.join(slugs) or 'there is none yet'}.")
    return gym_named(slug or slugs[0])


def _month(gym: Gym, name: str) -> Month:
    this = Month.at(timezone.now(), gym.time_zone)
    try:
        return month_named(name, this=this) if name else this.before
    except NoSuchMonthError as error:
        raise CommandError(str(error)) from error
