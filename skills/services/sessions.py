"""Running a training session: start, presence, the step in hand, end."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Membership
from athletes.services.audit import record_act
from athletes.services.names_kept_out import NameWithin, refuse_names
from gymtrack.lib.ids import new_id
from skills.core.days import moment_us
from skills.models import Attendance, Bar, BarCheck, Step, TrainingSession
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines


class SessionEndedError(ValueError):
    """The session has ended."""

    def __init__(self) -> None:
        super().__init__("This session has ended; start a new one.")


class StepClosedError(ValueError):
    """The step is not open to the athlete."""

    def __init__(self) -> None:
        super().__init__("This step is not open to the athlete yet.")


class BarNameMissingError(ValueError):
    """A check names the bar that was looked over."""

    def __init__(self) -> None:
        super().__init__("Name the bar that you checked, as it is called in your gym.")


class NoSuchHoleError(ValueError):
    """The bar has no such hole, or is out of use."""


class NameInBar(NameWithin):
    """A bar that is not of the gym's list is called after somebody: a check keeps that for good."""

    field = "bar"


def start_session(
    *,
    by: Membership,
    name: str,
    focus: Step | None = None,
    starts_at: datetime | None = None,
    session_id: UUID | None = None,
) -> TrainingSession:
    """Start a session, now unless a moment is given; with the id of one that was started, give that one back."""
    with transaction.atomic():
        if session_id and (before := TrainingSession.objects.filter(gym=by.gym_id, pk=session_id).first()):
            return before
        session = TrainingSession.objects.create(
            id=session_id or new_id(),
            gym_id=by.gym_id,
            coach=by,
            name=name.strip(),
            focus=focus,
            starts_at=starts_at or timezone.now(),
        )
        content = {"focus": session.focus_id, "starts_at": session.starts_at}
        record_act(gym=by.gym, actor=by, act="session_started", about=session.id, content=content)
    return session


def mark_present(
    *, by: Membership, session: TrainingSession, athlete: Athlete, happened_at: datetime | None = None
) -> Attendance:
    """Put an athlete on the session's board, now unless a moment is given; the second time changes nothing."""
    with transaction.atomic():
        _refuse_ended(session, happened_at)
        attendance, created = Attendance.objects.get_or_create(gym_id=session.gym_id, session=session, athlete=athlete)
        if created:
            content = {"athlete": athlete.id}
            record_act(gym=by.gym, actor=by, act="presence_marked", about=session.id, content=content)
    return attendance


def unmark_present(
    *, by: Membership, session: TrainingSession, athlete: Athlete, happened_at: datetime | None = None
) -> None:
    """Take an athlete off the board, now unless a moment is given; attempts that were logged stay."""
    with transaction.atomic():
        _refuse_ended(session, happened_at)
        removed, _ = Attendance.objects.filter(session=session, athlete=athlete).delete()
        if removed:
            content = {"athlete": athlete.id}
            record_act(gym=by.gym, actor=by, act="absence_marked", about=session.id, content=content)


def choose_step(*, by: Membership, attendance: Attendance, step: Step, happened_at: datetime | None = None) -> None:
    """Put a step into an athlete's hand for this session; raises StepClosedError for one that is not open."""
    book = book_of(by.gym)
    timeline = kept_timelines(book, [attendance.athlete_id])[attendance.athlete_id][step.code]
    if timeline.at(moment_us(timezone.now())).base == "closed":
        raise StepClosedError
    with transaction.atomic():
        _refuse_ended(attendance.session, happened_at)
        Attendance.objects.filter(pk=attendance.pk).update(step=step)
        content = {"athlete": attendance.athlete_id, "step": step.id}
        record_act(gym=by.gym, actor=by, act="step_chosen", about=attendance.session_id, content=content)


def check_bar(
    *,
    by: Membership,
    session: TrainingSession | None,
    bar: str,
    happened_at: datetime | None = None,
    check_id: UUID | None = None,
    of: Bar | None = None,
    hole: int | None = None,
) -> BarCheck:
    """Record that a low bar was looked over by this coach, now unless a moment is given: its steps open that day.

    `of` is the bar of the gym's list, whose name then stands, and `hole` the one that it was set into, counted from
    the lowest. Raises BarNameMissingError, NameInBar, NoSuchHoleError.
    """
    bar = of.name if of else bar
    if not bar.strip():
        raise BarNameMissingError
    _refuse_hole(of, hole)
    if of is None:  # the gym's own list is emptied of names; what is typed here stays
        refuse_names(gym_id=by.gym_id, text=bar, kind=NameInBar)
    with transaction.atomic():
        check = BarCheck.objects.create(
            id=check_id or new_id(),
            gym_id=by.gym_id,
            session=session,
            checked_by=by,
            bar=bar.strip(),
            of=of,
            hole=hole,
            happened_at=happened_at or timezone.now(),
        )
        set_into = {"of": of.id, "hole": hole} if of else {}
        content = {"session": check.session_id, **set_into}
        record_act(gym=by.gym, actor=by, act="bar_checked", about=check.id, content=content)
    return check


def _refuse_hole(bar: Bar | None, hole: int | None) -> None:
    holes = bar.holes if bar else None
    if bar and bar.retired_at:
        raise NoSuchHoleError("This bar was taken out of use.")
    if holes is None and hole is not None:
        raise NoSuchHoleError("This bar stands in no hole.")
    if holes is not None and (hole is None or not 1 <= hole <= holes):
        raise NoSuchHoleError(f"Say into which hole the bar was set: 1 to {holes}, counted from the lowest.")


def end_session(*, by: Membership, session: TrainingSession, ended_at: datetime | None = None) -> None:
    """End a session, now unless a moment is given, but not before it starts; the second time changes nothing."""
    with transaction.atomic():
        at = max(ended_at or timezone.now(), session.starts_at)
        ended = TrainingSession.objects.filter(pk=session.pk, ended_at=None).update(ended_at=at)
        if ended:
            record_act(gym=by.gym, actor=by, act="session_ended", about=session.id, content={})


def lock_session(session_id: UUID) -> TrainingSession:
    """Return a session as it stands, which nobody else ends or plans before the caller's transaction is over."""
    return TrainingSession.objects.select_for_update(no_key=True).get(pk=session_id)


def _refuse_ended(session: TrainingSession, happened_at: datetime | None = None) -> None:
    """Refuse what happens, now unless a moment is given, after the session's end.

    The session cannot end before the caller's transaction does.
    """
    ended_at = lock_session(session.id).ended_at
    if ended_at and (happened_at is None or happened_at > ended_at):
        raise SessionEndedError
