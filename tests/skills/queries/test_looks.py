"""What is kept in the process is never older than the facts, nor than the clock."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.core.readiness import StepStanding
from skills.models import StepTimeline
from skills.queries.books import Book, book_of
from skills.queries.looks import looks_at
from skills.queries.standings import standing_of
from skills.queries.timelines import kept_timelines
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution, lift_caution
from skills.services.readiness import rebuild_athlete
from tests.factories.skills import decide, library, log, meet, reach

CODES = ("pullover-1", "pullover-2")
NOON = datetime(2026, 3, 11, 11, tzinfo=UTC)


@pytest.fixture
def book(gym: Gym) -> Book:
    return library(gym)


def looked(book: Book, athlete: Athlete) -> dict[str, StepStanding]:
    now = timezone.now()
    kept = kept_timelines(book, [athlete.id])
    return dict(looks_at(book, {athlete.id: CODES}, kept, now)[athlete.id].steps)


def fresh(book: Book, athlete: Athlete) -> dict[str, StepStanding]:
    whole = standing_of(book, athlete, timezone.now())
    return {code: whole.steps[code] for code in CODES}


def queries(book: Book, athlete: Athlete) -> int:
    with CaptureQueriesContext(connection) as asked:
        looked(book, athlete)
    return len(asked)


def test_the_second_look_reads_no_facts(book: Book, coach: Membership, athlete: Athlete) -> None:
    log(coach, athlete, "pullover-1", 5.0)
    assert (queries(book, athlete), queries(book, athlete)) == (8, 2)  # timelines and numbers of facts each time


def test_each_kind_of_fact_is_seen_at_once(book: Book, owner: Membership, athlete: Athlete) -> None:
    missing = [looked(book, athlete)]
    attempt = log(owner, athlete, "pullover-1", 5.0)
    missing.append(looked(book, athlete))
    void_attempt(by=owner, attempt=attempt, reason="wrong athlete")
    missing.append(looked(book, athlete))
    caution = enter_caution(
        by=owner, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason="hand"
    )
    missing.append(looked(book, athlete))
    lift_caution(by=owner, caution=caution)
    missing.append(looked(book, athlete))
    reach(owner, athlete, "pullover-2")
    missing.append(looked(book, athlete))
    meet(owner, athlete, "pullover-2")
    if book.rules.steps["pullover-2"].needs_sign_off:
        decide(owner, athlete, "pullover-2")
    missing.append(looked(book, athlete))
    assert missing[-1] == fresh(book, athlete)
    assert [one != other for one, other in pairwise(missing)] == [True] * (len(missing) - 1)


def test_a_look_at_timelines_that_were_read_before_the_last_fact_is_not_kept(
    book: Book, owner: Membership, athlete: Athlete
) -> None:
    before = kept_timelines(book, [athlete.id])
    meet(owner, athlete, "pullover-1")  # by another tablet, after the timelines were read and before the facts are
    looks_at(book, {athlete.id: CODES}, before, timezone.now())
    assert looked(book, athlete) == fresh(book, athlete)


def test_timelines_made_anew_with_no_new_fact_are_seen(book: Book, owner: Membership, athlete: Athlete) -> None:
    meet(owner, athlete, "pullover-1")
    StepTimeline.objects.filter(athlete=athlete).delete()
    looked(book, athlete)
    rebuild_athlete(book=book, athlete=athlete, now=timezone.now(), store=True)
    assert looked(book, athlete) == fresh(book, athlete)


def test_a_window_that_passes_at_midnight_is_seen(gym: Gym, book: Book, coach: Membership, athlete: Athlete) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        log(coach, athlete, "pullover-1", 5.0)
        for _day in range(20):
            assert looked(book, athlete) == fresh(book, athlete)
            clock.shift(timedelta(hours=23, minutes=59))


def test_a_caution_that_ends_by_itself_is_seen(book: Book, coach: Membership, athlete: Athlete) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        end = timezone.now() + timedelta(hours=1)
        enter_caution(
            by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=end, reason="hand"
        )
        during = looked(book, athlete)
        clock.shift(timedelta(hours=1))
        assert looked(book, athlete) == fresh(book, athlete) != during


def test_another_rule_is_seen(gym: Gym, book: Book, athlete: Athlete) -> None:
    looked(book, athlete)
    library_again = library(gym)
    assert looked(library_again, athlete) == fresh(book_of(gym), athlete)


def test_more_steps_than_before_are_looked_at(book: Book, athlete: Athlete) -> None:
    now, kept = timezone.now(), kept_timelines(book, [athlete.id])
    for codes in (CODES[:1], CODES):
        assert looks_at(book, {athlete.id: codes}, kept, now)[athlete.id].steps.keys() >= {*codes}
