"""Logging and voiding attempts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.access.certificates import signs
from athletes.models import Athlete, Caution, Membership, Remark
from athletes.queries.consents import consents_lacking
from athletes.services.audit import record_act
from athletes.services.remarks import commitment, keep_remark
from gymtrack.lib.ids import new_id
from skills.core.counted import pauses
from skills.core.days import moment_us
from skills.core.entries import CLOCK_LEEWAY_US, Mistake, Result, mistakes_in, mistakes_in_moment
from skills.core.spans import Spans
from skills.core.stops import kinds_asked
from skills.core.timeline import Change
from skills.models import Attempt, AttemptVoid, TrainingSession
from skills.queries.bars import bar_key, checks_on_day
from skills.queries.books import Book, StepPage, book_of
from skills.queries.histories import attempt_fact, caution_fact
from skills.queries.timelines import kept_timelines
from skills.services.readiness import Known, Settled, lock_athlete, settle, settle_known


@dataclass(frozen=True, slots=True)
class AttemptEntry:
    """An attempt as a device sends it. `id` is made on the device: the same id twice is one attempt."""

    id: UUID
    athlete_id: UUID
    step_id: UUID
    session_id: UUID | None
    happened_at: datetime
    source: Attempt.Source
    result: Result
    closed_reason: str = ""
    note: str = ""
    doubt: str = ""  # why the device's own time may be wrong: one of DOUBTS, '' for no doubt
    bar_check_id: UUID | None = None  # the check by which the low bar stood as it was shown; None where none is named


@dataclass(frozen=True, slots=True)
class Logged:
    """A stored attempt, whether this call stored it, how the athlete stands now, and what opened."""

    attempt: Attempt
    created: bool
    standing: Change
    settled: Settled


class AttemptRefusedError(ValueError):
    """The entry cannot be stored; `mistakes` names each field with its sentence."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__(" ".join(mistake.sentence for mistake in mistakes))
        self.mistakes = mistakes


class NotThereError(AttemptRefusedError):
    """The entry names an athlete, a step or a session that this gym does not have."""


class NoRightError(AttemptRefusedError):
    """Whoever logs it lacks the right to."""


class IdTakenError(ValueError):
    """The id belongs to an attempt with other content, which stays as it is."""

    def __init__(self) -> None:
        super().__init__("This id was used before for an attempt with other content; nothing was changed.")


def log_attempt(*, by: Membership, entry: AttemptEntry) -> Logged:
    """Store an attempt, once whatever the number of calls, and bring the athlete's readiness up to date.

    Raises AttemptRefusedError with every mistake, IdTakenError when the id stands for something else.
    """
    try:
        with transaction.atomic():
            return _log(by, entry)
    except IntegrityError:
        # Another process stored this id for another athlete in the same instant.
        if Attempt.objects.filter(pk=entry.id).exists():
            raise IdTakenError from None
        raise


def _log(by: Membership, entry: AttemptEntry) -> Logged:
    athlete = _athlete(by, entry.athlete_id)
    now = timezone.now()  # under the lock: later than every fact that it waited for
    book = book_of(athlete.gym)
    page = book.step(entry.step_id)
    if page is None:
        raise NotThereError(Mistake("step", "There is no such step in this gym."))
    before = Attempt.objects.filter(pk=entry.id).first()
    if before is not None:
        return answer_again(by, book, before, entry)
    _refuse_mistakes(by, entry, athlete, page, now)
    known = Known(book, athlete)
    closed_try = _closed_try(by, known, entry, page)
    attempt = store_attempt(by, entry, athlete, closed_try=closed_try)
    known.add(attempts=[attempt_fact(attempt, page.code)])
    touched = {page.code}
    if attempt.pain:
        from_at = attempt.happened_at if by.is_staff_member else now
        touched |= pause_for_pain(by, known, attempt, page, entry.note, from_at)
    settled = settle_known(known=known, touched=touched, now=now)
    record_act(gym=athlete.gym, actor=by, act="attempt_logged", about=attempt.id, content=content_of(entry))
    standing = settled.timelines[page.code].at(moment_us(now))
    return Logged(attempt, created=True, standing=standing, settled=settled)


def _athlete(by: Membership, athlete_id: UUID) -> Athlete:
    try:
        athlete = lock_athlete(athlete_id)
    except Athlete.DoesNotExist:
        athlete = None
    if athlete is None or athlete.gym_id != by.gym_id:
        raise NotThereError(Mistake("athlete", "There is no such athlete in this gym."))
    return athlete


def _refuse_mistakes(by: Membership, entry: AttemptEntry, athlete: Athlete, page: StepPage, now: datetime) -> None:
    mistakes = [
        *mistakes_in(entry.result, page.form),
        *mistakes_in_moment(moment_us(entry.happened_at), moment_us(now)),
        *_mistakes_in_session(by, entry),
    ]
    if athlete.left_on and entry.happened_at.astimezone(athlete.gym.zone).date() >= athlete.left_on:
        mistakes.append(Mistake("athlete", "This athlete had left the gym by then."))
    if page.form.low_bar_check:
        mistakes += _mistakes_in_bar(athlete, entry)
    if mistakes:
        raise AttemptRefusedError(*mistakes)


def _mistakes_in_session(by: Membership, entry: AttemptEntry) -> list[Mistake]:
    if entry.session_id is None:
        return []
    session = TrainingSession.objects.filter(gym=by.gym_id, pk=entry.session_id).first()
    if session is None:
        return [Mistake("session", "There is no such session in this gym.")]
    if session.ended_at and entry.happened_at > session.ended_at:
        return [Mistake("session", "The session had ended by then: log the attempt outside of it.")]
    return []


def _mistakes_in_bar(athlete: Athlete, entry: AttemptEntry) -> list[Mistake]:
    """Say why no low bar stands checked for an attempt: on that day of the gym, before it, and not re-set since.

    A check of another hole than the last one of that bar opens nothing: every re-set needs a check of its own.
    """
    leeway = timedelta(microseconds=CLOCK_LEEWAY_US)  # the tablet's clock may be slow
    checks = checks_on_day(athlete.gym, entry.happened_at, leeway)
    named = next((check for check in checks if check.id == entry.bar_check_id), None)
    if not checks or (entry.bar_check_id and named is None):
        return [Mistake("step", "Check the low bar first, today and by name: this step opens with it.")]
    if named is None:
        return []
    before = [c for c in checks if bar_key(c) == bar_key(named) and c.happened_at <= entry.happened_at]
    if not before or before[0].hole == named.hole:
        return []
    words = f"{named.bar} was set anew meanwhile, into hole {before[0].hole}: look where it stands, and choose again."
    return [Mistake("bar_check", words)]


def _closed_try(by: Membership, known: Known, entry: AttemptEntry, page: StepPage) -> bool:
    """Whether the attempt is a try at a closed step; refuses one without a reason or the right to it.

    Refuses every attempt under a caution, or where it asks for a consent that was lacking then.
    """
    standing = known.kept[page.code].at(moment_us(entry.happened_at))
    if _is_paused(known, page.code, moment_us(entry.happened_at)):
        raise AttemptRefusedError(Mistake("step", "A caution forbids this step for now: see the athlete's page."))
    if words := _lacking_words(known, entry, page, standing.clearance):
        raise AttemptRefusedError(Mistake("step", words))
    if standing.base != "closed":
        return False
    if not entry.closed_reason.strip():
        raise AttemptRefusedError(
            Mistake("closed_reason", "This step is not open to the athlete: give a reason, or choose another step.")
        )
    if not signs(by, page.skill_slug):
        raise NoRightError(Mistake("step", "Only a coach who may sign off can try a step that is not open."))
    return True


def _lacking_words(known: Known, entry: AttemptEntry, page: StepPage, clearance: str) -> str:
    """Say to what nobody had agreed that the step asked for when it was tried; '' for nothing."""
    inverted = known.book.rules.steps[page.code].inverted
    asked = kinds_asked(inverted=inverted, clearance=clearance, assistance=entry.result.assistance)
    return lacking_words(known.athlete, asked, entry.happened_at)


def lacking_words(athlete: Athlete, asked: Iterable[str], happened_at: datetime) -> str:
    """Say to which of these kinds of consent nobody had agreed at that moment; '' for none."""
    lacking = consents_lacking(athlete, sorted({*asked}), happened_at)
    return " ".join(f"There was {words} then: see the athlete's page of consents." for _, words in lacking)


def _is_paused(known: Known, code: str, us: int) -> bool:
    laid = pauses(known.book.rules.steps[code], known.of({code}))
    return Spans.of(pause.lasting for pause in laid).covers(us)


def store_attempt(by: Membership, entry: AttemptEntry, athlete: Athlete, *, closed_try: bool) -> Attempt:
    """Write the row of an entry and what it says in words; the caller checks, settles and tells the audit chain."""
    kept = keep_remark(gym=athlete.gym, subject=athlete.person, about=entry.id, text=_text(entry))
    result = entry.result
    return Attempt.objects.create(
        id=entry.id,
        gym_id=athlete.gym_id,
        athlete=athlete,
        step_id=entry.step_id,
        session_id=entry.session_id,
        logged_by=by,
        happened_at=entry.happened_at,
        source=entry.source,
        closed_try=closed_try,
        doubt=entry.doubt,
        remark_commitment=kept,
        **_columns(result),
    )


def _text(entry: AttemptEntry) -> str:
    return "\n".join(part for part in (entry.closed_reason.strip(), entry.note.strip()) if part)


def _columns(result: Result) -> dict[str, object]:
    return {**asdict(result), "faults": sorted({*result.faults}), "missed": sorted({*result.missed})}


def answer_again(by: Membership, book: Book, before: Attempt, entry: AttemptEntry) -> Logged:
    """Answer a repeated call as the first one was answered; raises IdTakenError when it says something else."""
    same = (
        before.gym_id == by.gym_id
        and (before.athlete_id, before.step_id, before.session_id)
        == (entry.athlete_id, entry.step_id, entry.session_id)
        and (before.happened_at, before.source, before.doubt) == (entry.happened_at, entry.source, entry.doubt)
        and all(getattr(before, name) == value for name, value in _columns(entry.result).items())
        and _says(before, _text(entry))
    )
    if not same:
        raise IdTakenError
    timelines = kept_timelines(book, [before.athlete_id])[before.athlete_id]
    standing = timelines[book.codes[before.step_id]].at(moment_us(timezone.now()))
    return Logged(before, created=False, standing=standing, settled=Settled(timelines, {}, ()))


def _says(before: Attempt, text: str) -> bool:
    """Whether a stored attempt has that remark; of one that was erased, only whether there was any."""
    remarks = Remark.objects.filter(gym=before.gym_id, about=before.id)
    stored = [row.text for row in remarks if commitment(row.salt, row.text) == before.remark_commitment]
    return text in stored if stored else bool(text) == bool(before.remark_commitment)


def pause_for_pain(  # noqa: PLR0917 (one act)
    by: Membership, known: Known, attempt: Attempt, page: StepPage, said: str, from_at: datetime
) -> set[str]:
    """Pause every step with one of this step's loads, until a coach lifts the caution; return their codes.

    `said` are the words about it, such as where: whoever is to lift the caution reads them beside it. A coach's word
    holds from the try on. That of athletes and guardians, who may enter a day gone by, holds from now on (`from_at`):
    it takes nothing from what a coach has judged since.
    """
    loads, caution_id = known.book.rules.steps[page.code].loads, new_id()
    athlete = known.athlete
    caution = Caution.objects.create(
        id=caution_id,
        remark_commitment=keep_remark(gym=athlete.gym, subject=athlete.person, about=caution_id, text=said),
        gym_id=attempt.gym_id,
        athlete_id=attempt.athlete_id,
        loads=sorted(loads),
        happened_at=from_at,
        entered_by=by,
    )
    known.add(cautions=[caution_fact(caution)])
    return steps_with_loads(known.book, loads)


def steps_with_loads(book: Book, loads: frozenset[str]) -> set[str]:
    """Return the codes of the steps that ask for any of these loads."""
    return {code for code, rule in book.rules.steps.items() if rule.loads & loads}


def content_of(entry: AttemptEntry) -> dict[str, object]:
    """Return what the audit chain keeps of an entry: no words of anybody's."""
    doubt = {"doubt": entry.doubt} if entry.doubt else {}
    return {
        "athlete": entry.athlete_id,
        "step": entry.step_id,
        "session": entry.session_id,
        "happened_at": entry.happened_at,
        "source": str(entry.source),
        **_columns(entry.result),
        **doubt,
    }


class AlreadyVoidError(ValueError):
    """The attempt was voided before."""

    def __init__(self) -> None:
        super().__init__("This attempt was taken back before.")


def void_attempt(*, by: Membership, attempt: Attempt, reason: str, happened_at: datetime | None = None) -> AttemptVoid:
    """Take an attempt as not having happened, now unless a moment is given; it stays in the history with the reason.

    Raises AttemptRefusedError without a reason and AlreadyVoidError the second time.
    """
    if not reason.strip():
        raise AttemptRefusedError(Mistake("reason", "Say why the attempt is taken back."))
    with transaction.atomic():
        athlete = lock_athlete(attempt.athlete_id)
        now = timezone.now()
        void = write_void(by, attempt, athlete, reason, happened_at or now)
        book = book_of(athlete.gym)
        code = book.codes[attempt.step_id]
        settle(book=book, athlete=athlete, touched=touched_by_void(book, code), now=now)
        record_act(gym=athlete.gym, actor=by, act="attempt_voided", about=attempt.id, content={"void": void.id})
    return void


def write_void(by: Membership, attempt: Attempt, athlete: Athlete, reason: str, happened_at: datetime) -> AttemptVoid:
    """Write the void of an attempt of a locked athlete; raises AlreadyVoidError the second time."""
    if AttemptVoid.objects.filter(attempt=attempt).exists():
        raise AlreadyVoidError
    return AttemptVoid.objects.create(
        gym_id=athlete.gym_id,
        attempt=attempt,
        athlete=athlete,
        voided_by=by,
        happened_at=happened_at,
        remark_commitment=keep_remark(gym=athlete.gym, subject=athlete.person, about=attempt.id, text=reason),
    )


def touched_by_void(book: Book, code: str) -> set[str]:
    """Return the steps to settle: a clearance to enter a following one may rest on the attempt too."""
    return {code, *book.rules.dependents(code)}
