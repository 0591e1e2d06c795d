"""Pain, dizziness and torn skin: what each stops, until when, and what is said of it."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from athletes.models import Athlete, AuditEntry, Caution, Membership, Remark, SkinNote
from gymtrack.lib.ids import new_id
from skills.core.days import moment_us
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines
from skills.services.cautions import end_inversion_today, note_skin
from skills.services.corrections import mend_attempt, result_of
from tests.factories.skills import days_before_now, library, log, page_of


@pytest.fixture(autouse=True)
def _skills(athlete: Athlete, owner: Membership) -> None:
    library(athlete.gym, owner)


def paused(athlete: Athlete, at: datetime) -> set[str]:
    kept = kept_timelines(book_of(athlete.gym), [athlete.id])[athlete.id]
    return {code for code, line in kept.items() if line.at(moment_us(at)).state == "paused"}


def with_load(athlete: Athlete, *loads: str) -> set[str]:
    book = book_of(athlete.gym)
    return {code for code, rule in book.rules.steps.items() if rule.loads & {*loads}}


def test_pain_pauses_every_step_with_a_load_of_that_step_and_says_where(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0, pain=True, note="Pain: left shoulder. Stop for today")
    now = days_before_now(0)
    loads = page_loads(athlete, "pullover-1")
    caution = Caution.objects.get()
    assert {*caution.loads} == loads
    assert caution.until_at is None
    closed = {code for code in with_load(athlete, *loads) if state(athlete, code, now) == "closed"}
    assert paused(athlete, now) | closed == with_load(athlete, *loads)
    assert "pullover-1" in paused(athlete, now)
    texts = {row.about: (row.text, row.subject) for row in Remark.objects.all()}
    said = ("Pain: left shoulder. Stop for today", athlete.person)
    assert texts == {attempt.id: said, caution.id: said}


def page_loads(athlete: Athlete, code: str) -> set[str]:
    return {*book_of(athlete.gym).rules.steps[page_of(athlete.gym, code).code].loads}


def state(athlete: Athlete, code: str, at: datetime) -> str:
    return kept_timelines(book_of(athlete.gym), [athlete.id])[athlete.id][code].at(moment_us(at)).base


def test_pain_that_is_said_afterwards_adds_where_to_what_was_noted(coach: Membership, athlete: Athlete) -> None:
    attempt = log(coach, athlete, "pullover-1", 5.0, note="Second turn")
    hurt, again = replace(result_of(attempt), pain=True), new_id()
    first, second = (
        mend_attempt(by=coach, attempt=attempt, new_id=again, result=hurt, note="Pain: right elbow") for _ in range(2)
    )
    mended = first.attempt
    assert not second.created  # the same act sent twice
    texts = {row.about: row.text for row in Remark.objects.exclude(about=attempt.id)}
    assert texts == {mended.id: "Second turn\nPain: right elbow", Caution.objects.get().id: "Pain: right elbow"}


def test_dizziness_ends_inversion_until_midnight_in_the_gyms_zone_once(coach: Membership, athlete: Athlete) -> None:
    now = days_before_now(0)
    caution = end_inversion_today(by=coach, athlete=athlete, happened_at=now)
    assert end_inversion_today(by=coach, athlete=athlete, happened_at=now + timedelta(microseconds=1)) == caution
    assert Caution.objects.count() == 1
    midnight = datetime.combine(now.date() + timedelta(days=1), datetime.min.time(), athlete.gym.zone)
    assert (caution.loads, caution.until_at) == (["inversion"], midnight)
    assert paused(athlete, now + timedelta(seconds=1)) <= with_load(athlete, "inversion")
    assert Remark.objects.get(about=caution.id).text == "Dizziness or headache"


def test_dizziness_on_the_next_day_is_another_caution(coach: Membership, athlete: Athlete) -> None:
    for days in (1, 0):
        end_inversion_today(by=coach, athlete=athlete, happened_at=days_before_now(days))
    assert Caution.objects.count() == 2


def test_torn_skin_pauses_nothing_and_is_shown_for_a_week(coach: Membership, athlete: Athlete) -> None:
    now = days_before_now(0)
    before = paused(athlete, now)
    note = note_skin(by=coach, athlete=athlete, happened_at=now)
    assert note_skin(by=coach, athlete=athlete, happened_at=now) == note
    assert (SkinNote.objects.count(), note.until_on) == (1, now.date() + timedelta(days=7))
    assert (paused(athlete, now), Caution.objects.count()) == (before, 0)
    assert AuditEntry.objects.filter(act="skin_note_entered").count() == 1
