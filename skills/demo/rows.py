"""Diaries as rows: every fact of the demo gym, with its reason kept apart from it."""

from __future__ import annotations

from collections import defaultdict
from random import Random
from uuid import UUID

from django.db.models import Model

from athletes.models import Caution, CautionLift, Gym, Remark
from athletes.services.remarks import commitment
from skills.core import facts
from skills.core.days import moment_of
from skills.core.readiness import default_timeline
from skills.demo.diary import Diary, Noted, Opened, Tried
from skills.demo.people import People
from skills.models import Attempt, AttemptVoid, Opening, SignOff, StepTimeline
from skills.queries.books import Book

# A row comes after those that it points to.
_IN_ORDER: tuple[type[Model], ...] = (
    Remark,
    Attempt,
    AttemptVoid,
    SignOff,
    Opening,
    Caution,
    CautionLift,
    StepTimeline,
)
_BATCH_ROWS = 500


class FactRows:
    """Collects the rows of all diaries, then stores them table by table."""

    def __init__(self, gym: Gym, people: People, book: Book, rng: Random) -> None:
        self._gym, self._people, self._book, self._rng = gym, people, book, rng
        self._rows: defaultdict[type[Model], list[Model]] = defaultdict(list)

    def add(self, diary: Diary) -> None:
        """Make the rows of one athlete."""
        for tried in diary.tries:
            self._put(self._attempt(diary, tried))
        for void in diary.voids:
            self._put(self._void(diary, void))
        for decided in diary.sign_offs:
            self._put(self._sign_off(diary, decided))
        for opened in diary.openings:
            self._put(self._opening(diary, opened))
        for caution in diary.cautions:
            self._put(self._caution(diary, caution))
        for lift in diary.lifts:
            self._put(self._lift(diary, lift))
        self._put_timelines(diary)

    def store(self) -> dict[str, int]:
        """Write everything, and return how many rows of each table."""
        for model in _IN_ORDER:
            model._default_manager.bulk_create(self._rows[model], batch_size=_BATCH_ROWS)
        return {model._meta.model_name or "": len(self._rows[model]) for model in _IN_ORDER}

    def _put(self, row: Model) -> None:
        self._rows[type(row)].append(row)

    def _of(self, diary: Diary) -> dict[str, object]:
        return {"gym": self._gym, "athlete": self._people.athletes[diary.trainee.id]}

    def _commitment(self, diary: Diary, about: str, reason: str) -> str:
        if not reason:
            return ""
        salt = f"{self._rng.getrandbits(256):064x}"
        person = self._people.athletes[diary.trainee.id].person
        self._put(Remark(gym=self._gym, subject=person, about=UUID(about), text=reason, salt=salt))
        return commitment(salt, reason)

    def _attempt(self, diary: Diary, tried: Tried) -> Attempt:
        fact = tried.fact
        return Attempt(
            id=UUID(fact.id),
            step_id=self._book.steps[fact.step].id,
            session_id=UUID(fact.session) if fact.session else None,
            logged_by=self._people.who(tried.by, diary),
            hold_tenths=fact.hold_tenths,
            reps=fact.reps,
            unbroken=fact.unbroken,
            source=fact.source,
            assistance=fact.assistance,
            variant=fact.variant,
            faults=sorted(fact.faults),
            missed=sorted(fact.missed),
            effort=tried.effort,
            pain=fact.pain,
            grade=fact.grade,
            closed_try=fact.closed_try,
            angle_degrees=fact.angle_degrees,
            **_moments(fact.happened_us, fact.recorded_us),
            **self._of(diary),
        )

    def _void(self, diary: Diary, void: Noted[facts.Void]) -> AttemptVoid:
        return AttemptVoid(
            attempt_id=UUID(void.fact.attempt),
            voided_by=self._people.who(void.by, diary),
            remark_commitment=self._commitment(diary, void.fact.attempt, void.reason),
            **_moments(void.fact.happened_us, void.fact.recorded_us),
            **self._of(diary),
        )

    def _sign_off(self, diary: Diary, decided: Noted[facts.SignOff]) -> SignOff:
        fact = decided.fact
        step = self._book.steps[fact.step]
        return SignOff(
            id=UUID(fact.id),
            step_id=step.id,
            gate=fact.gate,
            decision=fact.decision,
            clearance=fact.clearance,
            criterion_id=step.criterion_ids[fact.criterion_version],
            evidence=list(fact.evidence),
            signed_by=self._people.who(decided.by, diary),
            remark_commitment=self._commitment(diary, fact.id, decided.reason),
            **_moments(fact.happened_us, fact.recorded_us),
            **self._of(diary),
        )

    def _opening(self, diary: Diary, opened: Opened) -> Opening:
        fact = opened.fact
        return Opening(
            id=UUID(fact.id),
            step_id=self._book.steps[fact.step].id,
            sign_off_id=UUID(opened.sign_off) if opened.sign_off else None,
            **_moments(fact.happened_us, fact.recorded_us),
            **self._of(diary),
        )

    def _caution(self, diary: Diary, caution: Noted[facts.Caution]) -> Caution:
        fact = caution.fact
        return Caution(
            id=UUID(fact.id),
            loads=sorted(fact.loads),
            entered_by=self._people.who(caution.by, diary),
            remark_commitment=self._commitment(diary, fact.id, caution.reason),
            **_moments(fact.from_us, fact.recorded_us),
            **self._of(diary),
        )

    def _lift(self, diary: Diary, lift: Noted[facts.Lift]) -> CautionLift:
        return CautionLift(
            gym=self._gym,
            caution_id=UUID(lift.fact.caution),
            lifted_by=self._people.who(lift.by, diary),
            **_moments(lift.fact.happened_us, lift.fact.recorded_us),
        )

    def _put_timelines(self, diary: Diary) -> None:
        for code, timeline in diary.timelines.items():
            if timeline != default_timeline(self._book.rules, code):
                step_id = self._book.steps[code].id
                self._put(StepTimeline(step_id=step_id, changes=timeline.to_json(), **self._of(diary)))


def _moments(happened_us: int, recorded_us: int) -> dict[str, object]:
    return {"happened_at": moment_of(happened_us), "recorded_at": moment_of(recorded_us)}
