"""Sign-offs: a coach's decision at the entrance or the finish of a step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Membership
from athletes.services.audit import record_act
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id
from skills.core.days import moment_us
from skills.core.entries import Mistake
from skills.core.timeline import Change
from skills.models import Opening, SignOff
from skills.queries.books import Book, StepPage, book_of
from skills.queries.cautions import loads_forbidden
from skills.queries.standings import gate_evidence
from skills.queries.timelines import Timelines, kept_timelines
from skills.services.readiness import lock_athlete, settle


@dataclass(frozen=True, slots=True)
class Decision:
    """What a coach decided: clearance with a pass, a reason with anything else."""

    gate: SignOff.Gate
    decision: SignOff.Decision
    clearance: str = ""
    reason: str = ""


class SignOffRefusedError(ValueError):
    """The decision cannot be recorded; `mistakes` names each field with its sentence."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__(" ".join(mistake.sentence for mistake in mistakes))
        self.mistakes = mistakes


def sign_off(*, by: Membership, athlete: Athlete, step: StepPage, decision: Decision) -> SignOff:
    """Record a decision, with the evidence it rests on, and open or finish the step accordingly.

    Raises SignOffRefusedError: no right, no clearance or reason, a gate that does not wait, a caution.
    """
    with transaction.atomic():
        now = timezone.now()
        locked = lock_athlete(athlete.id)
        book = book_of(locked.gym)
        timelines = kept_timelines(book, [locked.id])[locked.id]
        _refuse_mistakes(by, decision)
        _refuse_moment(book, locked, step.code, decision, timelines, now)
        row = _store(by, locked, book, step, decision, now)
        if _opens(decision, timelines[step.code].at(moment_us(now))):
            Opening.objects.create(gym_id=locked.gym_id, athlete=locked, step_id=step.id, sign_off=row, happened_at=now)
        settle(book=book, athlete=locked, touched={step.code}, now=now)
        record_act(gym=locked.gym, actor=by, act="sign off", about=row.id, content=_content(row))
    return row


def _refuse_mistakes(by: Membership, decision: Decision) -> None:
    mistakes = []
    if not (by.is_owner or by.may_sign_off):
        mistakes.append(Mistake("decision", "You do not hold the right to sign off in this gym."))
    passed = decision.decision == SignOff.Decision.PASSED
    if passed and decision.clearance not in SignOff.Clearance.values:
        mistakes.append(Mistake("clearance", "Choose under what supervision: spotted, coach present or alone."))
    if not passed and not decision.reason.strip():
        mistakes.append(Mistake("reason", "Give the reason in a few words: it is kept with the decision."))
    if mistakes:
        raise SignOffRefusedError(*mistakes)


def _refuse_moment(
    book: Book, athlete: Athlete, code: str, decision: Decision, timelines: Timelines, now: datetime
) -> None:
    """Refuse a decision that does not fit how the athlete stands now: gates are passed in order, none is skipped."""
    if decision.decision == SignOff.Decision.REVOKED:
        sentence = _why_not_revoked(decision, timelines[code].at(moment_us(now)))
    elif decision.gate == SignOff.Gate.ENTRANCE:
        sentence = _why_not_entered(book, code, timelines, now)
    else:
        sentence = _why_not_finished(book.rules.steps[code].needs_sign_off, timelines[code].at(moment_us(now)))
    if not sentence and decision.decision == SignOff.Decision.PASSED:
        sentence = _why_not_under_caution(book, athlete, code, now)
    if sentence:
        raise SignOffRefusedError(Mistake("decision", sentence))


def _why_not_revoked(decision: Decision, standing: Change) -> str:
    stands = standing.base in _PASSED if decision.gate == SignOff.Gate.FINISH else standing.base != "closed"
    return "" if stands else "There is nothing to revoke: the athlete does not stand past that gate."


def _why_not_entered(book: Book, code: str, timelines: Timelines, now: datetime) -> str:
    rule = book.rules.steps[code]
    if not rule.asks_clearance:
        return "This step asks for no clearance."
    missing = [r for r in rule.requires if timelines[r].at(moment_us(now)).base != "passed"]
    names = ", ".join(f"{book.steps[r].label} {book.steps[r].name}" for r in missing)
    return f"First these must stand as passed: {names}." if missing else ""


def _why_not_finished(needs_sign_off: bool, standing: Change) -> str:  # noqa: FBT001 (a fact about the step)
    if not needs_sign_off:
        return "This step passes by itself as soon as its criterion is met."
    met = standing.base in {"ready", *_PASSED}
    return "" if met else "The criterion is not met, so there is nothing to decide yet."


def _why_not_under_caution(book: Book, athlete: Athlete, code: str, now: datetime) -> str:
    forbidden = book.rules.steps[code].loads & loads_forbidden(athlete.id, now)
    return "A caution forbids this step: nothing can be passed before it is lifted." if forbidden else ""


_PASSED = ("passed", "recheck")


def _opens(decision: Decision, standing: Change) -> bool:
    entering = decision.gate == SignOff.Gate.ENTRANCE and decision.decision == SignOff.Decision.PASSED
    return entering and standing.base == "closed"


def _store(
    by: Membership, athlete: Athlete, book: Book, step: StepPage, decision: Decision, now: datetime
) -> SignOff:
    version, evidence = gate_evidence(book, athlete, step.code, str(decision.gate), now)
    row_id = new_id()
    commitment = keep_remark(gym=athlete.gym, subject=athlete.person, about=row_id, text=decision.reason)
    return SignOff.objects.create(
        id=row_id,
        gym_id=athlete.gym_id,
        athlete=athlete,
        step_id=step.id,
        gate=decision.gate,
        decision=decision.decision,
        clearance=decision.clearance if decision.decision == SignOff.Decision.PASSED else "",
        criterion_id=step.criterion_ids[version],
        evidence=list(evidence),
        signed_by=by,
        happened_at=now,
        remark_commitment=commitment,
    )


def _content(row: SignOff) -> dict[str, object]:
    return {
        "athlete": row.athlete_id,
        "step": row.step_id,
        "gate": str(row.gate),
        "decision": str(row.decision),
        "clearance": row.clearance,
        "criterion": row.criterion_id,
        "evidence": row.evidence,
    }
