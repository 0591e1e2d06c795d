"""A coach's own dose in place of the one that was worked out: kept for the week, with the reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Membership
from athletes.services.audit import record_act
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id
from skills.core.dose_limits import Volume
from skills.core.dose_portions import StepCase
from skills.core.entries import Mistake
from skills.core.portions import Portion, mistakes_in_portion
from skills.models import DoseChange
from skills.queries.books import StepPage, book_of
from skills.queries.doses import DoseWeek, dose_week
from skills.services.readiness import lock_athlete


@dataclass(frozen=True, slots=True)
class DoseOrder:
    """What a coach says of one step for the week that begins on `week_on`, and why.

    `portion` None: not this week. With `taken_back` the worked-out dose stands again. `id` is made with the form: the
    same id twice is one change.
    """

    week_on: date
    portion: Portion | None
    reason: str
    taken_back: bool = False
    id: UUID = field(default_factory=new_id)


class DoseRefusedError(ValueError):
    """The change cannot be kept; `mistakes` names each field with its sentence."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__(" ".join(mistake.sentence for mistake in mistakes))
        self.mistakes = mistakes


def change_dose(*, by: Membership, athlete: Athlete, step: StepPage, order: DoseOrder) -> DoseChange:
    """Keep a coach's dose of a step for this week, or take one back.

    Raises DoseRefusedError for a week that is over, figures out of range, a step that is not open or lies under a
    caution, more days than classes at a step that stays in class, and for a minor's hold beyond the best one or week
    beyond the caps. Less is never refused.
    """
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        if locked.gym_id != by.gym_id:
            raise DoseRefusedError(Mistake("athlete", "There is no such athlete in this gym."))
        if before := DoseChange.objects.filter(pk=order.id).first():
            return _again(before, locked, step)
        week = dose_week(book_of(locked.gym), locked, timezone.now())
        _refuse(locked, step, order, week)
        return _keep(by, locked, step, order)


def _again(before: DoseChange, athlete: Athlete, step: StepPage) -> DoseChange:
    """Answer a form that was sent twice."""
    if (before.athlete_id, before.step_id) != (athlete.id, step.id):
        raise DoseRefusedError(Mistake("", "This form was sent before for something else: open it again."))
    return before


def _refuse(athlete: Athlete, step: StepPage, order: DoseOrder, week: DoseWeek) -> None:
    mistakes = [*_general(athlete, order, week)]
    if order.portion is not None:
        mistakes += mistakes_in_portion(order.portion, is_hold=step.form.is_hold)
        mistakes += _at_step(week, step.code, order.portion) if not mistakes else []
    elif order.taken_back and step.code not in week.changes:
        mistakes.append(Mistake("", "There is no change to take back this week."))
    if mistakes:
        raise DoseRefusedError(*mistakes)


def _general(athlete: Athlete, order: DoseOrder, week: DoseWeek) -> list[Mistake]:
    mistakes = []
    if order.week_on != week.week_on:
        mistakes.append(Mistake("", "A new week has begun since this page was opened: look at it again."))
    if athlete.left_on and athlete.left_on <= timezone.localdate(timezone=athlete.gym.zone):
        mistakes.append(Mistake("", "This athlete has left the gym."))
    if not order.reason.strip():
        mistakes.append(Mistake("reason", "Say why, in a few words."))
    return mistakes


def _at_step(week: DoseWeek, code: str, portion: Portion) -> list[Mistake]:
    case = week.cases.get(code)
    if case is None or case.standing == "closed":
        return [Mistake("", "This step is not open to the athlete: there is nothing to practise yet.")]
    if case.standing == "paused":
        return [Mistake("", "A caution forbids this step for now: it gets no dose until the caution is lifted.")]
    if case.standing == "stopped":
        return [Mistake("", "A consent that this step asks for is lacking: it gets no dose until it is given.")]
    mistakes = _beyond_classes(week, case, portion)
    return [*mistakes, *_beyond_minor(week, case, portion)] if week.person.minor else mistakes


def _beyond_classes(week: DoseWeek, case: StepCase, portion: Portion) -> list[Mistake]:
    """A step that stays in class is practised on no more days than there are classes."""
    most = max(week.person.class_days, 1)
    if case.place != "class" or portion.days <= most:
        return []
    days = "one day" if most == 1 else f"{most} days"
    sentence = (
        f"This step is practised in class only until the clearance is alone, and there were classes on {days} of a "
        f"week lately: at most {days}, not at home."
    )
    return [Mistake("days", sentence)]


def _beyond_minor(week: DoseWeek, case: StepCase, portion: Portion) -> list[Mistake]:
    """A minor holds nothing longer than the best clean hold, and the whole week keeps to its room."""
    mistakes = []
    shortest = 50  # tenths: with help, the shortest rung is open to all
    if portion.hold_seconds and portion.hold_seconds * 10 > max(case.best_tenths, shortest):
        best = f"{case.best_tenths / 10:g} s" if case.best_tenths else "none of late"
        sentence = f"No holds to failure for minors: the best clean hold of late is shorter ({best})."
        mistakes.append(Mistake("hold_seconds", sentence))
    others = [dose.volume for dose in week.plan.doses if dose.changed and dose.code != case.code]
    room = week.plan.room.less(sum(others, Volume()))
    if not portion.volume(case.loads).fits(room):
        left = f"{max(room.hang_seconds, 0)} s of hang time and {max(room.pulls, 0)} pulls"
        mistakes.append(Mistake("sets", f"That is more than a minor’s week has left for it: {left}."))
    return mistakes


def _keep(by: Membership, athlete: Athlete, step: StepPage, order: DoseOrder) -> DoseChange:
    portion = order.portion
    figures = {
        "sets": portion.sets if portion else None,
        "reps": portion.reps if portion else None,
        "hold_seconds": portion.hold_seconds if portion else None,
        "rest_seconds": portion.rest_seconds if portion else None,
        "days": portion.days if portion else None,
        "taken_back": order.taken_back,
    }
    change = DoseChange.objects.create(
        id=order.id,
        gym_id=athlete.gym_id,
        athlete=athlete,
        step_id=step.id,
        week_on=order.week_on,
        changed_by=by,
        happened_at=timezone.now(),
        remark_commitment=keep_remark(gym=athlete.gym, subject=athlete.person, about=order.id, text=order.reason),
        **figures,
    )
    content = {"athlete": athlete.id, "step": step.id, "week_on": order.week_on.isoformat(), **figures}
    record_act(gym=athlete.gym, actor=by, act="dose_changed", about=change.id, content=content)
    return change
