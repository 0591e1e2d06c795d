"""Skills, sessions and attempts for tests, made through the services: what they store is what the site stores."""

from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import time_machine
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from gymtrack.lib.ids import new_id
from skills.core import criteria
from skills.core.days import moment_us
from skills.core.entries import Result
from skills.models import Attempt, BarCheck, SignOff, Step, TrainingSession
from skills.queries.books import Book, StepPage, book_of
from skills.queries.timelines import kept_timelines
from skills.services.attempts import AttemptEntry, log_attempt
from skills.services.library import install_library, touch_rules
from skills.services.sessions import mark_present, start_session
from skills.services.sign_offs import Decision, sign_off


def library(gym: Gym, by: Membership | None = None) -> Book:
    """The shipped skills in that gym, as its book. The `gym` given knows the new rules; rows read before do not."""
    install_library(gym=gym, by=by)
    return book_of(gym)


def page_of(gym: Gym, code: str) -> StepPage:
    """What the book says of a step; reads the gym anew, so that any older copy will do."""
    return _book(gym).steps[code]


def step_of(gym: Gym, code: str) -> Step:
    return Step.objects.get(gym=gym, code=code)


def days_before_now(days: float) -> datetime:
    """The same time of day in Berlin, where the cast trains, some days ago; also over a change of the clocks."""
    return timezone.now().astimezone(ZoneInfo("Europe/Berlin")) - timedelta(days=days)


def entry_of(
    athlete: Athlete,
    code: str,
    *,
    seconds: float | None = None,
    reps: int = 1,
    days_ago: float = 0,
    at: datetime | None = None,
    session: TrainingSession | None = None,
    source: str = "judged",
    closed_reason: str = "",
    note: str = "",
    attempt_id: UUID | None = None,
    **result: object,
) -> AttemptEntry:
    """An entry as a tablet would send it: `seconds` for a hold, else a set of `reps`; `result` as in `Result`."""
    tenths = None if seconds is None else round(seconds * 10)
    return AttemptEntry(
        id=attempt_id or new_id(),
        athlete_id=athlete.id,
        step_id=step_of(athlete.gym, code).id,
        session_id=session.id if session else None,
        happened_at=at or days_before_now(days_ago),
        source=Attempt.Source(source),
        result=Result(hold_tenths=tenths, reps=reps, **result),  # type: ignore[arg-type]
        closed_reason=closed_reason,
        note=note,
    )


def log(by: Membership, athlete: Athlete, code: str, seconds: float | None = None, **more: object) -> Attempt:
    """Log an attempt and return it; `more` (reps, days_ago, session, faults ...) as for `entry_of`."""
    entry = entry_of(athlete, code, seconds=seconds, **more)  # type: ignore[arg-type]
    return log_attempt(by=by, entry=entry).attempt


def meet(by: Membership, athlete: Athlete, code: str, *, days_ago: float = 0) -> list[Attempt]:
    """Log what meets the step's shipped criterion: the last try `days_ago`, the others on the day before."""
    criterion = criterion_of(athlete.gym, code)
    tries = [*_days_of_tries(criterion.count, days_ago)]
    if page_of(athlete.gym, code).form.low_bar_check:
        for day in sorted({*tries}, reverse=True):
            check_bar_on(by, day)
    return [log(by, athlete, code, days_ago=day, **_enough(criterion)) for day in tries]  # type: ignore[arg-type]


def measure_angle(gym: Gym, code: str, words: str = "legs from straight down") -> None:
    """Let a step say that an angle is measured there."""
    Step.objects.filter(gym=gym, code=code).update(angle=words)
    touch_rules(gym)


def check_bar_on(by: Membership, days_ago: float = 0, bar: str = "low bar by the door") -> BarCheck:
    """A check of a low bar, a minute before attempts of that day."""
    happened_at = days_before_now(days_ago) - timedelta(minutes=1)
    return BarCheck.objects.create(gym=by.gym, checked_by=by, bar=bar, happened_at=happened_at)


def criterion_of(gym: Gym, code: str) -> criteria.HoldsOf | criteria.RepsOf:
    """The criterion of a step that asks for holds or for sets, and for nothing else."""
    criterion = _book(gym).rules.steps[code].criteria[-1].criterion
    assert isinstance(criterion, (criteria.HoldsOf, criteria.RepsOf))
    return criterion


def decide(
    by: Membership,
    athlete: Athlete,
    code: str,
    gate: str = "finish",
    *,
    decision: str = "passed",
    clearance: str = "",
    reason: str = "",
) -> SignOff:
    """Sign a step now: passed, with the coach present, unless told otherwise."""
    cleared = clearance or ("present" if decision == "passed" else "")
    given = Decision(SignOff.Gate(gate), SignOff.Decision(decision), cleared, reason, risk_notes_read=True)
    return sign_off(by=by, athlete=athlete, step=page_of(athlete.gym, code), decision=given)


def reach(by: Membership, athlete: Athlete, code: str) -> None:
    """Bring an athlete, over the days before yesterday, to where the step may be worked on since yesterday."""
    _walk(by, athlete, [step for step in _road(athlete.gym, code) if step != code])
    if _book(athlete.gym).rules.steps[code].asks_clearance:
        with time_machine.travel(days_before_now(1)):
            decide(by, athlete, code, "entrance")


def pass_step(by: Membership, athlete: Athlete, code: str) -> None:
    """Bring an athlete past a step and all that lead to it, over the days before yesterday."""
    _walk(by, athlete, _road(athlete.gym, code))


def start_class(by: Membership, *athletes: Athlete, name: str = "Monday class", focus: str = "") -> TrainingSession:
    """A running session with these athletes present."""
    session = start_session(by=by, name=name, focus=step_of(by.gym, focus) if focus else None)
    for athlete in athletes:
        mark_present(by=by, session=session, athlete=athlete)
    return session


def _walk(by: Membership, athlete: Athlete, road: list[str]) -> None:
    """Pass these steps one after another, two days each, the last one done two days ago."""
    kept = kept_timelines(_book(athlete.gym), [athlete.id])[athlete.id]
    for left, code in zip(range(len(road), 0, -1), road, strict=True):
        if kept[code].at(moment_us(timezone.now())).base != "passed":
            _pass(by, athlete, code, days_ago=2 * left)


def _pass(by: Membership, athlete: Athlete, code: str, *, days_ago: int) -> None:
    rule = _book(athlete.gym).rules.steps[code]
    if rule.asks_clearance:
        with time_machine.travel(days_before_now(days_ago + 1) - timedelta(minutes=5)):
            decide(by, athlete, code, "entrance")
    meet(by, athlete, code, days_ago=days_ago)
    if rule.needs_sign_off:
        with time_machine.travel(days_before_now(days_ago) + timedelta(minutes=5)):
            decide(by, athlete, code, "finish")


def _road(gym: Gym, code: str) -> list[str]:
    """The step and all that lead to it by requirement, in an order in which they can be passed."""
    rules = _book(gym).rules
    found, front = {code}, [code]
    while front:
        new = {*rules.steps[front.pop()].requires} - found
        found |= new
        front += new
    return [step for step in rules.order if step in found]


def _book(gym: Gym) -> Book:
    return book_of(Gym.objects.get(pk=gym.pk))


def _days_of_tries(count: int, days_ago: float) -> list[float]:
    return [days_ago + 1] * (count - 1) + [days_ago]


def _enough(criterion: criteria.HoldsOf | criteria.RepsOf) -> dict[str, object]:
    grade = {"grade": criterion.counting.grade_at_least}
    if isinstance(criterion, criteria.HoldsOf):
        return {"seconds": criterion.tenths / 10, **grade}
    return {"reps": criterion.reps, **grade}
