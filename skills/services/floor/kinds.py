"""What each kind of act does: one small function a kind, by the services that every page uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import timedelta
from typing import Any, Final, TypeVar
from uuid import UUID

from athletes.models import Athlete, GymRow
from athletes.services.roster import enrol_guest
from skills.core.days import day_end
from skills.core.entries import Mistake, Result
from skills.models import Attempt, Step, TrainingSession
from skills.queries.bars import settings_by_name
from skills.services.attempts import (
    AlreadyVoidError,
    AttemptEntry,
    IdTakenError,
    NotThereError,
    log_attempt,
    void_attempt,
)
from skills.services.cautions import enter_caution, note_skin
from skills.services.class_runs import mark_rotation
from skills.services.corrections import Vouching, mend_attempt, move_attempt
from skills.services.floor.acts import ActRefusedError, Call
from skills.services.sessions import (
    check_bar,
    choose_step,
    end_session,
    mark_present,
    start_session,
    unmark_present,
)

# What was made on another device, or by an act that waits for its coach's code, may still be on its way.
EARLY_FOR: Final = timedelta(days=1)
START_LEEWAY: Final = timedelta(minutes=30)
_NAMES: Final = {Athlete: "athlete", TrainingSession: "session", Attempt: "attempt"}
_RESULT: Final = (
    "hold_tenths",
    "reps",
    "unbroken",
    "assistance",
    "variant",
    "effort",
    "pain",
    "grade",
    "angle_degrees",
)
Row = TypeVar("Row", Athlete, TrainingSession, Attempt)


def _attempt(call: Call) -> None:
    body = call.body
    _check_times(call, _found(call, TrainingSession, body["session"]))
    entry = AttemptEntry(
        id=call.id,
        athlete_id=body["athlete"],
        step_id=body["step"],
        session_id=body["session"],
        happened_at=call.happened_at,
        source=Attempt.Source(body["source"]),
        result=_result(body),
        closed_reason=body["closed_reason"],
        note=body["note"],
        doubt=body["doubt"],
    )
    try:
        log_attempt(by=call.by, entry=entry)
    except NotThereError as error:
        if error.mistakes[0].field == "athlete":
            raise _absent(call, Athlete, body["athlete"]) from None
        raise


def _result(body: Mapping[str, Any]) -> Result:
    said = {name: body[name] for name in _RESULT}
    return Result(**said, faults=tuple(body["faults"]), missed=tuple(body["missed"]))


def _check_times(call: Call, session: TrainingSession) -> None:
    """Refuse what lies outside of its session; a session may be begun on paper before it is on the tablet."""
    if call.happened_at < session.starts_at - START_LEEWAY:
        raise ActRefusedError("mistakes", Mistake("session", "This was before the class began."))
    if session.ended_at and call.happened_at > session.ended_at:
        raise ActRefusedError("mistakes", Mistake("session", "The class had ended by then: nothing is logged in it."))


def _void(call: Call) -> None:
    """Take an attempt back. It is as well where somebody has done so before."""
    attempt = _found(call, Attempt, call.body["attempt"])
    with suppress(AlreadyVoidError):
        void_attempt(by=call.by, attempt=attempt, reason=call.body["reason"], happened_at=call.happened_at)


def _mend(call: Call) -> None:
    attempt = _found(call, Attempt, call.body["attempt"])
    source, doubt = Attempt.Source(call.body["source"]), call.body["doubt"]
    if doubt is None:  # a coach who says "judged" vouches for the time too
        doubt = "" if source == Attempt.Source.JUDGED else attempt.doubt
    mend_attempt(
        by=call.by,
        attempt=attempt,
        new_id=call.id,
        result=_result(call.body),
        vouching=Vouching(source, doubt),
        happened_at=call.happened_at,
        note=call.body["note"],
    )


def _move(call: Call) -> None:
    move_attempt(
        by=call.by,
        attempt=_found(call, Attempt, call.body["attempt"]),
        new_id=call.id,
        athlete=_found(call, Athlete, call.body["athlete"]),
        step_id=call.body["step"],
        closed_reason=call.body["closed_reason"],
        happened_at=call.happened_at,
    )


def _here(call: Call) -> None:
    session, athlete = _found(call, TrainingSession, call.body["session"]), _practising(call)
    mark_present(by=call.by, session=session, athlete=athlete, happened_at=call.happened_at)


def _gone(call: Call) -> None:
    session = _found(call, TrainingSession, call.body["session"])
    athlete = _found(call, Athlete, call.body["athlete"])
    unmark_present(by=call.by, session=session, athlete=athlete, happened_at=call.happened_at)


def _guest(call: Call) -> None:
    session = _found(call, TrainingSession, call.body["session"])
    guest = enrol_guest(
        by=call.by,
        guest_id=call.id,
        name=call.body["name"],
        is_minor=call.body["is_minor"],
        happened_at=call.happened_at,
    )
    mark_present(by=call.by, session=session, athlete=guest, happened_at=call.happened_at)


def _step(call: Call) -> None:
    """Put a step into somebody's hand, who is there then, whatever was said before."""
    session, athlete = _found(call, TrainingSession, call.body["session"]), _practising(call)
    step = _step_of(call, call.body["step"])
    attendance = mark_present(by=call.by, session=session, athlete=athlete, happened_at=call.happened_at)
    choose_step(by=call.by, attendance=attendance, step=step, happened_at=call.happened_at)


def _start(call: Call) -> None:
    name, focus = call.body["name"].strip(), call.body["focus"]
    if not name:
        raise ActRefusedError("mistakes", Mistake("name", "Name the class."))
    if TrainingSession.objects.filter(pk=call.id).exists():
        raise IdTakenError
    step = _step_of(call, focus, "focus") if focus else None
    start_session(by=call.by, name=name, focus=step, starts_at=call.happened_at, session_id=call.id)


def _end(call: Call) -> None:
    session = _found(call, TrainingSession, call.body["session"])
    end_session(by=call.by, session=session, ended_at=call.happened_at)


def _rotation(call: Call) -> None:
    session = _found(call, TrainingSession, call.body["session"])
    mark_rotation(
        by=call.by, session=session, rotation=call.body["rotation"], happened_at=call.happened_at, mark_id=call.id
    )


def _bar(call: Call) -> None:
    """A bar of the gym's list comes as it is named in its hole; anything else is a name that stands for itself."""
    session, name = _found(call, TrainingSession, call.body["session"]), call.body["bar"].strip()
    of, hole = settings_by_name(call.by.gym).get(name, (None, None))
    check_bar(
        by=call.by,
        session=session,
        bar=name,
        of=of,
        hole=hole,
        happened_at=call.happened_at,
        check_id=call.id,
    )


def _caution(call: Call) -> None:
    """Enter a caution, for the rest of that day or until it is lifted; the attempts of before it stay as they are."""
    _found(call, TrainingSession, call.body["session"])
    ends = call.body["until"] == "day"
    enter_caution(
        by=call.by,
        athlete=_found(call, Athlete, call.body["athlete"]),
        loads=frozenset(call.body["loads"]),
        from_at=call.happened_at,
        until_at=day_end(call.happened_at, call.by.gym.time_zone) if ends else None,
        reason=call.body["reason"],
        caution_id=call.id,
    )


def _skin(call: Call) -> None:
    _found(call, TrainingSession, call.body["session"])
    athlete = _found(call, Athlete, call.body["athlete"])
    note_skin(by=call.by, athlete=athlete, happened_at=call.happened_at, note_id=call.id)


KINDS: Final[Mapping[str, Callable[[Call], None]]] = {
    "attempt": _attempt,
    "void": _void,
    "mend": _mend,
    "move": _move,
    "here": _here,
    "gone": _gone,
    "guest": _guest,
    "step": _step,
    "start": _start,
    "end": _end,
    "rotation": _rotation,
    "bar": _bar,
    "caution": _caution,
    "skin": _skin,
}


def _practising(call: Call) -> Athlete:
    athlete = _found(call, Athlete, call.body["athlete"])
    if athlete.left_on and call.happened_at.astimezone(call.by.gym.zone).date() >= athlete.left_on:
        raise ActRefusedError("mistakes", Mistake("athlete", "This athlete had left the gym by then."))
    return athlete


def _step_of(call: Call, step_id: UUID, field: str = "step") -> Step:
    step = Step.objects.filter(gym=call.by.gym_id, pk=step_id).first()
    if step is None:
        raise ActRefusedError("gone", Mistake(field, "There is no such step in this gym."))
    return step


def _found(call: Call, model: type[Row], row_id: UUID) -> Row:
    row = model._default_manager.filter(gym=call.by.gym_id, pk=row_id).first()
    if row is None:
        raise _absent(call, model, row_id)
    return row


def _absent(call: Call, model: type[GymRow], row_id: UUID) -> ActRefusedError:
    """Say that something is not there: "early" while the act that makes it may still come, else "gone"."""
    name = _NAMES[model]
    is_elsewhere = model._default_manager.filter(pk=row_id).exists()
    if is_elsewhere or call.now - call.happened_at > EARLY_FOR:
        return ActRefusedError("gone", Mistake(name, f"There is no such {name} in this gym."))
    return ActRefusedError("early", Mistake(name, f"This {name} is not known here yet: it is tried again."))
