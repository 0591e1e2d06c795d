"""Which risk notes a coach has still to read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.db.models import Exists, OuterRef, Q

from athletes.models import Gym, Membership
from skills.core.risk_notes import RiskNote, StepRisks, digest_of, risk_notes
from skills.models import Attempt, Attendance, RiskRead, Step, TrainingSession

LIKELY_DAYS: Final = 28  # what was tried so lately will be tried again
ASKED: Final = Q(inverted=True) | Q(over_bar=True) | Q(low_bar_check=True)


@dataclass(frozen=True, slots=True)
class StepNotes:
    """The risk notes of a step as they are now."""

    step: Step
    notes: tuple[RiskNote, ...]
    digest: str
    is_asked: bool


def notes_of(step: Step) -> StepNotes:
    """Return the risk notes of a step."""
    risks = StepRisks(
        inverted=step.inverted,
        over_bar=step.over_bar,
        low_bar=step.low_bar_check,
        loads=frozenset(step.loads),
        set_up=tuple(step.set_up),
        cautions=tuple(step.cautions),
        getting_down=step.getting_down,
    )
    notes = risk_notes(risks)
    return StepNotes(step, notes, digest_of(notes), risks.is_asked)


def has_read(coach: Membership, notes: StepNotes) -> bool:
    """Whether a coach has read these very notes, or need not; one query where it is asked."""
    read = RiskRead.objects.filter(gym=coach.gym_id, coach=coach, step=notes.step, digest=notes.digest)
    return not notes.is_asked or read.exists()


def unread_notes(coach: Membership, now: datetime) -> list[StepNotes]:
    """Return the notes that a coach has still to read, of steps that the gym's classes are likely to come to.

    Those are the steps that turn people over, go over the bar or use a low one, of skills that somebody worked on
    within `LIKELY_DAYS`, or that stand in a class that runs: who decides in mid-class has read them before.
    Two queries.
    """
    read = set(RiskRead.objects.filter(gym=coach.gym_id, coach=coach).values_list("step", "digest"))
    return [notes for notes in map(notes_of, _likely(coach.gym, now)) if (notes.step.id, notes.digest) not in read]


def _likely(gym: Gym, now: datetime) -> list[Step]:
    mine = {"gym": gym.id}
    lately = Attempt.objects.filter(**mine, happened_at__gte=now - timedelta(days=LIKELY_DAYS)).values("step__skill")
    in_focus = TrainingSession.objects.filter(**mine, focus=OuterRef("pk"), ended_at=None)
    in_hand = Attendance.objects.filter(**mine, step=OuterRef("pk"), session__ended_at=None)
    likely = Q(skill__in=lately) | Q(Exists(in_focus)) | Q(Exists(in_hand))
    return list(Step.objects.filter(ASKED, likely, gym=gym).select_related("skill"))
