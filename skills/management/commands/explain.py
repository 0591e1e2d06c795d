"""Tell why an athlete stands as they do: `manage.py explain --gym SLUG --athlete NUMBER --step CODE [--at …]`.

The same facts as on the page, in plain text. Free texts (reasons) are left out: nobody is signed in here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.queries.roster import athletes_called
from skills.core.days import moment_us
from skills.core.moments import Asked, MomentError, moment_asked
from skills.queries.books import book_of
from skills.queries.whys import Known, why_of
from skills.why_words import ODD_HOURS, AttemptLine, DecisionLine, WhyWords, why_words

if TYPE_CHECKING:
    from athletes.models import Athlete, Gym


class Command(BaseCommand):
    help = "Tell why an athlete stands as they do at a step, at a moment, as it was known then or is known now."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        parser.add_argument("--athlete", required=True, metavar="WHO", help="number, or part of a name")
        parser.add_argument("--step", required=True, metavar="CODE", help="the step's code, such as pullover-3a")
        parser.add_argument("--at", default="", metavar="WHEN", help="like 2026-11-03T18:30, the gym's clock; else now")
        parser.add_argument("--known", choices=["then", "now"], default="now", help="what was known then, or is now")

    def handle(self, *, gym: str, athlete: str, step: str, at: str, known: Known, **_options: object) -> None:
        found = gym_named(gym)
        who, asked = _athlete(found, athlete), _moment(found, at)
        if step not in book_of(found).steps:
            raise CommandError(f"There is no step {step!r}; there is: {', '.join(book_of(found).steps) or 'none yet'}.")
        why = why_of(who, step, asked.us, known)
        words = why_words(replace(why, rows=replace(why.rows, remarks={})))
        for line in _told(words, ODD_HOURS[asked.oddness]):
            self.stdout.write(line)


def _athlete(gym: Gym, words: str) -> Athlete:
    found = athletes_called(gym, words)
    if not found:
        raise CommandError(f"No athlete of {gym.slug} fits {words!r}: give a number or a part of a name.")
    if len(found) > 1:
        who = ", ".join(f"{athlete.number} {athlete.board_name}" for athlete in found[:10])
        raise CommandError(f"Several athletes fit {words!r}: {who}. Give the number.")
    return found[0]


def _moment(gym: Gym, at: str) -> Asked:
    now_us = moment_us(timezone.now())
    try:
        return moment_asked(at, gym.time_zone, now_us) if at else Asked(now_us)
    except MomentError as error:
        raise CommandError(f"--at {at}: {error}") from error


def _told(words: WhyWords, odd_hour: str) -> Iterator[str]:
    yield f"{words.who}: {words.step}"
    yield f"On {words.as_of}, {words.known}"
    if odd_hour:
        yield odd_hour
    if words.learned:
        yield "Known then and known now differ. " + " ".join(words.learned)
    if not words.state:
        yield words.state_words
        return
    yield ""
    yield f"{words.state_words} {words.since}" + (f", cleared: {words.clearance}" if words.clearance else "")
    yield from (f"Flag: {flag}" for flag in words.flags)
    yield words.criterion or "No criterion was in force."
    yield from _part("What was missing", words.missing, "nothing")
    yield from _part("Attempts that counted", _attempts(words.counted, words.counted_left_out))
    yield from _part("Attempts that did not count", _attempts(words.not_counted, words.not_counted_left_out))
    yield from _part("Decisions up to then", (*map(_decision, words.decisions), *words.openings))
    yield from _part("Cautions in force then", words.cautions)


def _part(title: str, lines: tuple[str, ...], otherwise: str = "none") -> Iterator[str]:
    yield ""
    yield f"{title}:" if lines else f"{title}: {otherwise}"
    yield from (f"  {line}" for line in lines)


def _attempts(lines: tuple[AttemptLine, ...], left_out: int) -> tuple[str, ...]:
    told = tuple(_attempt(line) for line in lines)
    return (*told, f"and {left_out} earlier") if left_out else told


def _attempt(line: AttemptLine) -> str:
    step = f" ({line.step})" if line.step else ""
    return f"{line.when}  {line.result}{step}, {line.how}; {line.source}, {line.by}, {line.session}; {line.why}"


def _decision(line: DecisionLine) -> str:
    clearance = f", {line.clearance}" if line.clearance else ""
    stands = " (stands)" if line.stands else ""
    rests = f"on attempts: {line.attempts}, under criterion {line.rule_number}"
    return f"{line.when}  {line.gate}: {line.decision}{clearance}{stands}, by {line.by}, {rests}"
