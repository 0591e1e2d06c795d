"""Correcting an attempt: what was logged is voided and entered again, in one transaction; nothing is edited."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Membership, Remark
from athletes.services.audit import record_act
from athletes.services.remarks import commitment
from skills.core.days import moment_us
from skills.core.entries import Mistake, Result, mistakes_in
from skills.core.stops import kinds_asked
from skills.models import Attempt
from skills.queries.books import book_of
from skills.services.attempts import (
    AlreadyVoidError,
    AttemptEntry,
    AttemptRefusedError,
    Logged,
    answer_again,
    content_of,
    lacking_words,
    log_attempt,
    pause_for_pain,
    store_attempt,
    touched_by_void,
    void_attempt,
    write_void,
)
from skills.services.readiness import Known, lock_athlete, settle_known

MENDED = "Mended: entered again as it was seen."
READ_ON_STILL = "Angle read on a still: entered again with it."
MOVED = "Logged for the wrong athlete: entered again for the right one."


def result_of(attempt: Attempt) -> Result:
    """Return the result that a stored attempt has."""
    return Result(
        hold_tenths=attempt.hold_tenths,
        reps=attempt.reps,
        unbroken=attempt.unbroken,
        assistance=attempt.assistance,
        variant=attempt.variant,
        faults=tuple(attempt.faults),
        missed=tuple(attempt.missed),
        effort=attempt.effort,
        pain=attempt.pain,
        grade=attempt.grade,
        angle_degrees=attempt.angle_degrees,
    )


@dataclass(frozen=True, slots=True)
class Vouching:
    """What a correction says of the time and who vouches for it, in place of what was said before."""

    source: Attempt.Source
    doubt: str = ""


def mend_attempt(
    *,
    by: Membership,
    attempt: Attempt,
    new_id: UUID,
    result: Result,
    vouching: Vouching | None = None,
    happened_at: datetime | None = None,
    note: str = "",
    reason: str = MENDED,
) -> Logged:
    """Void an attempt and enter it again under `new_id`, of the same moment and session, with another result.

    `note` is added to what was noted before; `reason` says why the first was taken back. `happened_at` is the moment of
    the correction, now where none is given.
    Pain that was not said before pauses as it does when it is logged. The same new id twice is one mend. What was let
    pass when the attempt was logged (a caution, a step that was not open) is not asked again; a spot that was not said
    before asks for consent to spotting as it does when it is logged. Raises AttemptRefusedError, AlreadyVoidError, and
    IdTakenError as `log_attempt` does.
    """
    with transaction.atomic():
        athlete = lock_athlete(attempt.athlete_id)
        now = timezone.now()
        book = book_of(athlete.gym)
        page = book.steps[book.codes[attempt.step_id]]
        entry = _entry_again(attempt, new_id, result=result, more=note)
        if vouching:
            entry = replace(entry, source=vouching.source, doubt=vouching.doubt)
        if before := Attempt.objects.filter(pk=new_id).first():
            return answer_again(by, book, before, entry)
        if mistakes := [*mistakes_in(result, page.form), *_mistakes_in_source(attempt, entry)]:
            raise AttemptRefusedError(*mistakes)
        if words := lacking_words(athlete, _asked_anew(attempt, result), attempt.happened_at):
            raise AttemptRefusedError(Mistake("assistance", words))
        void = write_void(by, attempt, athlete, reason, happened_at or now)
        mended = store_attempt(by, entry, athlete, closed_try=attempt.closed_try)
        known, touched = Known(book, athlete), touched_by_void(book, page.code)
        if mended.pain and not attempt.pain:
            touched |= pause_for_pain(by, known, mended, page, note, mended.happened_at)
        settled = settle_known(known=known, touched=touched, now=now)
        content = {"void": void.id, "entered_again": new_id}
        record_act(gym=athlete.gym, actor=by, act="attempt_voided", about=attempt.id, content=content)
        record_act(gym=athlete.gym, actor=by, act="attempt_logged", about=new_id, content=content_of(entry))
    return Logged(mended, created=True, standing=settled.timelines[page.code].at(moment_us(now)), settled=settled)


def _mistakes_in_source(attempt: Attempt, entry: AttemptEntry) -> list[Mistake]:
    """What was practised out of a coach's sight is nothing that a coach has seen."""
    if attempt.source == entry.source or attempt.source != Attempt.Source.OWN:
        return []
    return [Mistake("source", "An own entry stays one: no coach watched it. Log what was seen as a try of its own.")]


def move_attempt(
    *,
    by: Membership,
    attempt: Attempt,
    new_id: UUID,
    athlete: Athlete,
    step_id: UUID,
    closed_reason: str = "",
    happened_at: datetime | None = None,
) -> Logged:
    """Void an attempt that was logged for the wrong athlete and log it for the right one, at a step of theirs.

    It is asked what every attempt is asked: whether the step is open, a caution, the low bar. Nothing is changed when
    it is refused. The same new id twice is one move. Raises as `log_attempt` and `void_attempt` do.
    """
    if athlete.id == attempt.athlete_id:
        raise AttemptRefusedError(Mistake("athlete", "The attempt is this athlete's already."))
    again = _entry_again(attempt, new_id, result=result_of(attempt))
    entry = replace(again, athlete_id=athlete.id, step_id=step_id, closed_reason=closed_reason)
    with transaction.atomic():
        for athlete_id in sorted((attempt.athlete_id, athlete.id)):  # one order for all: no two wait for each other
            lock_athlete(athlete_id)
        if not Attempt.objects.filter(pk=new_id).exists() and hasattr(Attempt.objects.get(pk=attempt.id), "void"):
            raise AlreadyVoidError
        logged = log_attempt(by=by, entry=entry)
        if logged.created:
            void_attempt(by=by, attempt=attempt, reason=MOVED, happened_at=happened_at)
    return logged


def _asked_anew(attempt: Attempt, result: Result) -> set[str]:
    """Return the kinds of consent that the mended result asks for and the one before did not."""
    said = attempt.assistance, result.assistance
    before, after = ({*kinds_asked(inverted=False, clearance="", assistance=word)} for word in said)
    return after - before


def _entry_again(attempt: Attempt, new_id: UUID, *, result: Result, more: str = "") -> AttemptEntry:
    return AttemptEntry(
        id=new_id,
        athlete_id=attempt.athlete_id,
        step_id=attempt.step_id,
        session_id=attempt.session_id,
        happened_at=attempt.happened_at,
        source=Attempt.Source(attempt.source),
        result=result,
        note="\n".join(part for part in (_note_of(attempt), more.strip()) if part),
        doubt=attempt.doubt,
    )


def _note_of(attempt: Attempt) -> str:
    """Return what was noted with an attempt; '' for nothing, and for what was erased since."""
    remarks = Remark.objects.filter(gym=attempt.gym_id, about=attempt.id)
    return next((row.text for row in remarks if commitment(row.salt, row.text) == attempt.remark_commitment), "")
