"""Planning a class: the ask is made, solved outside of any transaction, and the plan kept beside those before it."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from athletes.models import Membership
from athletes.services.audit import record_act
from skills.core.class_shape import Shape, ShapeProblem, Words, shape_problems
from skills.core.rotation.asks import Ask, Plan
from skills.core.rotation.written import written_ask, written_plan
from skills.models import ClassPlan, TrainingSession
from skills.queries.class_asks import class_ask
from skills.queries.kept_plans import last_number_of, whole_plan_of
from skills.services.planning import planned
from skills.services.sessions import SessionEndedError, lock_session

NOTHING_SAID = Words()


class ShapeRefusedError(ValueError):
    """The lengths cannot be; `problems` names each field with its sentence."""

    def __init__(self, *problems: ShapeProblem) -> None:
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = problems


class NobodyToPlanError(ValueError):
    """Nobody is here, or there is no station."""


class PlannedMeanwhileError(ValueError):
    """The class was planned while this plan was being made, by somebody else or by a second tap."""

    def __init__(self) -> None:
        super().__init__("This class was planned by another tap meanwhile: this is that plan.")


def plan_class(
    *,
    by: Membership,
    session: TrainingSession,
    shape: Shape,
    words: Words = NOTHING_SAID,
    first_rotation: int = 0,
    keep: bool = True,
    seen: int | None = None,
) -> ClassPlan:
    """Plan a class from a rotation on (numbered from 0), and keep the plan; it takes seconds.

    With `keep` people stay where the plan before has them, as far as nothing speaks against it. `seen` is the number
    of the plan that the coach was looking at (0: none), where that is known. Raises ShapeRefusedError,
    SessionEndedError, NobodyToPlanError, PlannedMeanwhileError, and of `planning` ClashingRulesError,
    NoPlanInTimeError and PlannerBusyError.
    """
    if problems := shape_problems(shape, first_rotation):
        raise ShapeRefusedError(*problems)
    if session.ended_at:
        raise SessionEndedError
    whole = whole_plan_of(session)
    if seen is not None and seen != (whole.last.row.number if whole else 0):
        raise PlannedMeanwhileError
    before = last_number_of(session)
    # Nothing of the past is there to count where no plan was made: the class is planned from its beginning.
    first = first_rotation if whole else 0
    asked = class_ask(session, shape, words, timezone.now(), first=first, whole=whole, keep=keep)
    _refuse_empty(asked.ask)
    plan = planned(asked.ask)
    row = _row(by, session, shape, asked.ask, plan)
    row.number, row.first_rotation = before + 1, first
    return _stored(by, row)


def _refuse_empty(ask: Ask) -> None:
    if not ask.people:
        raise NobodyToPlanError("Nobody is here yet: say first who is here.")
    if not ask.stations:
        raise NobodyToPlanError("No station is described yet: describe the gym’s stations first.")


def _row(by: Membership, session: TrainingSession, shape: Shape, ask: Ask, plan: Plan) -> ClassPlan:
    return ClassPlan(
        gym_id=session.gym_id,
        session=session,
        happened_at=timezone.now(),
        rotations=shape.rotations,
        rotation_minutes=shape.rotation_minutes,
        warm_up_minutes=shape.warm_up_minutes,
        reset_minutes=shape.reset_minutes,
        asked=written_ask(ask),
        planned=written_plan(plan),
        made_by=by,
    )


def _stored(by: Membership, row: ClassPlan) -> ClassPlan:
    with transaction.atomic():
        if lock_session(row.session_id).ended_at:
            raise SessionEndedError
        if ClassPlan.objects.filter(gym=row.gym_id, session=row.session_id, number__gte=row.number).exists():
            raise PlannedMeanwhileError
        row.save(force_insert=True)
        content = {"session": row.session_id, "number": row.number, "from": row.first_rotation}
        record_act(gym=by.gym, actor=by, act="class_planned", about=row.session_id, content=content)
    return row
