"""Sign-offs: a coach's decision at the entrance or the finish of a step."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.access.certificates import why_not_signing
from athletes.models import Athlete, Membership
from athletes.queries.consents import consents_lacking
from athletes.services.audit import record_act
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id
from skills.core.days import moment_us
from skills.core.entries import Mistake
from skills.core.timeline import Change
from skills.models import Opening, SignOff, Step
from skills.queries.books import Book, StepPage, book_of
from skills.queries.cautions import loads_forbidden
from skills.queries.risk_notes import StepNotes, has_read, notes_of
from skills.queries.standings import gate_evidence
from skills.queries.timelines import Timelines, kept_timelines
from skills.services.readiness import lock_athlete, settle
from skills.services.safety import note_read


@dataclass(frozen=True, slots=True)
class Decision:
    """What a coach decided: clearance with a pass, a reason with anything else.

    `id` is made with the form or by the program that sends it: the same id twice is one decision. `risk_notes_read` is
    the coach's word for having read the risk notes of the step as they are now; it is written down with the decision.
    """

    gate: SignOff.Gate
    decision: SignOff.Decision
    clearance: str = ""
    reason: str = ""
    id: UUID = field(default_factory=new_id)
    risk_notes_read: bool = False


class SignOffRefusedError(ValueError):
    """The decision cannot be recorded; `mistakes` names each field with its sentence."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__(" ".join(mistake.sentence for mistake in mistakes))
        self.mistakes = mistakes


@dataclass(frozen=True, slots=True)
class _Case:
    """A decision, and how the athlete stands when it is made."""

    by: Membership
    athlete: Athlete
    step: StepPage
    decision: Decision
    book: Book
    timelines: Timelines
    now: datetime

    def standing(self, code: str) -> Change:
        return self.timelines[code].at(moment_us(self.now))

    @property
    def passes(self) -> bool:
        return self.decision.decision == SignOff.Decision.PASSED

    @property
    def at_entrance(self) -> bool:
        return self.decision.gate == SignOff.Gate.ENTRANCE


def sign_off(*, by: Membership, athlete: Athlete, step: StepPage, decision: Decision) -> SignOff:
    """Record a decision, with the evidence it rests on, and open or finish the step accordingly.

    A decision whose id is stored already is given back as it is. Raises SignOffRefusedError: no right, a pass of the
    signer's own, no clearance or reason, risk notes that were not read, a gate that does not wait, a caution, an id
    that stands for another decision.
    """
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        now = timezone.now()  # under the lock: later than every fact that it waited for
        book = book_of(locked.gym)
        timelines = kept_timelines(book, [locked.id])[locked.id]
        case = _Case(by, locked, step, decision, book, timelines, now)
        if before := SignOff.objects.filter(pk=decision.id).first():
            return _again(case, before)
        notes = notes_of(Step.objects.get(pk=step.id)) if case.passes else None
        _refuse(case, notes)
        row = _store(case)
        if notes and notes.is_asked and decision.risk_notes_read:
            note_read(by=by, notes=notes, now=now)
        if case.passes and case.at_entrance and case.standing(step.code).base == "closed":
            Opening.objects.create(gym_id=locked.gym_id, athlete=locked, step_id=step.id, sign_off=row, happened_at=now)
        settle(book=book, athlete=locked, touched={step.code}, now=now)
        record_act(gym=locked.gym, actor=by, act="signed_off", about=row.id, content=_content(row))
    return row


def _again(case: _Case, before: SignOff) -> SignOff:
    """Return the stored decision if it is the same one, sent twice."""
    said = (case.athlete.id, case.step.id, case.decision.gate, case.decision.decision)
    if said != (before.athlete_id, before.step_id, before.gate, before.decision):
        raise SignOffRefusedError(Mistake("decision", "Another decision has this id: open the page anew."))
    return before


def _refuse(case: _Case, notes: StepNotes | None) -> None:
    mistakes = _mistakes_in_form(case)
    if notes and not case.decision.risk_notes_read and not has_read(case.by, notes):
        mistakes.append(Mistake("risk_notes_read", "Read the risk notes of this step first, and say that you have."))
    sentence = _why_not_now(case)
    if sentence:
        mistakes.append(Mistake("decision", sentence))
    mistakes += _mistakes_without_consent(case)
    if mistakes:
        raise SignOffRefusedError(*mistakes)


def _mistakes_in_form(case: _Case) -> list[Mistake]:
    mistakes = []
    if sentence := why_not_signing(case.by, case.now, case.step.skill_slug):
        mistakes.append(Mistake("decision", sentence))
    if case.passes and _is_own(case):
        mistakes.append(Mistake("decision", "Nobody passes themselves: another coach decides this."))
    if case.passes and case.decision.clearance not in SignOff.Clearance.values:
        mistakes.append(Mistake("clearance", "Choose under what supervision: spotted, coach present or alone."))
    if not case.passes and not case.decision.reason.strip():
        mistakes.append(Mistake("reason", "Give the reason in a few words: it is kept with the decision."))
    return mistakes


def _is_own(case: _Case) -> bool:
    """Whether who signs is the athlete, by whichever of the roles that they have here."""
    if case.by.person_id == case.athlete.person_id:
        return True
    log_ins = Membership.objects.filter(gym=case.by.gym_id, athlete=case.athlete, role=Membership.Role.ATHLETE)
    return log_ins.filter(account=case.by.account_id, ended_at=None).exists()


def _why_not_now(case: _Case) -> str:
    """Return why the decision does not fit how the athlete stands: gates are passed in order, none is skipped."""
    if case.decision.decision == SignOff.Decision.REVOKED:
        return _why_not_revoked(case)
    sentence = _why_not_entered(case) if case.at_entrance else _why_not_finished(case)
    return sentence or (_why_not_under_caution(case) if case.passes else "")


def _mistakes_without_consent(case: _Case) -> list[Mistake]:
    """Nobody is passed at an inverted step, or cleared with hands on them, without their consent to it."""
    if not case.passes:
        return []
    fields = {
        "inversion": "decision" if case.book.rules.steps[case.step.code].inverted else "",
        "spotting": "clearance" if case.decision.clearance == SignOff.Clearance.SPOTTED else "",
    }
    lacking = consents_lacking(case.athlete, [kind for kind, field in fields.items() if field], case.now)
    who = "A guardian gives it" if case.athlete.is_minor() else "The athlete gives it"
    return [
        Mistake(fields[kind], f"There is {words}. {who}, on the athlete's page of consents.") for kind, words in lacking
    ]


_PASSED = ("passed", "recheck")


def _why_not_revoked(case: _Case) -> str:
    base = case.standing(case.step.code).base
    stands = base != "closed" if case.at_entrance else base in _PASSED
    return "" if stands else "There is nothing to revoke: the athlete does not stand past that gate."


def _why_not_entered(case: _Case) -> str:
    rule = case.book.rules.steps[case.step.code]
    if not rule.asks_clearance:
        return "This step asks for no clearance."
    missing = [required for required in rule.requires if case.standing(required).base != "passed"]
    names = ", ".join(f"{case.book.steps[code].label} {case.book.steps[code].name}" for code in missing)
    return f"First these must stand as passed: {names}." if missing else ""


def _why_not_finished(case: _Case) -> str:
    if not case.book.rules.steps[case.step.code].needs_sign_off:
        return "This step passes by itself as soon as its criterion is met."
    met = case.standing(case.step.code).base in {"ready", *_PASSED}
    return "" if met else "The criterion is not met, so there is nothing to decide yet."


def _why_not_under_caution(case: _Case) -> str:
    loads = case.book.rules.steps[case.step.code].loads
    forbidden = loads & loads_forbidden(case.athlete.id, case.now)
    return "A caution forbids this step: nothing can be passed before it is lifted." if forbidden else ""


def _store(case: _Case) -> SignOff:
    decision, athlete = case.decision, case.athlete
    version, evidence = gate_evidence(case.book, athlete, case.step.code, str(decision.gate), case.now)
    return SignOff.objects.create(
        id=decision.id,
        gym_id=athlete.gym_id,
        athlete=athlete,
        step_id=case.step.id,
        gate=decision.gate,
        decision=decision.decision,
        clearance=decision.clearance if case.passes else "",
        criterion_id=case.book.steps[case.step.code].criterion_ids[version],
        evidence=list(evidence),
        signed_by=case.by,
        happened_at=case.now,
        remark_commitment=keep_remark(gym=athlete.gym, subject=athlete.person, about=decision.id, text=decision.reason),
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
