"""When a step was open and when a caution lay on it, and so which attempts count there."""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from skills.core.days import local_date
from skills.core.facts import Attempt, Caution, History, Opening, SignOff
from skills.core.spans import ALWAYS, FOREVER, Span, Spans
from skills.core.steps import StepRule


@dataclass(frozen=True, slots=True)
class Counted:
    """An attempt that counts, with its place in the gym's calendar."""

    attempt: Attempt
    on: date
    session: str  # outside training sessions, each day is a session of its own


@dataclass(frozen=True, slots=True)
class Pause:
    """A caution as it lies on one step."""

    loads: frozenset[str]  # of the step, forbidden
    until_us: int | None  # as the caution says
    lasting: Span  # as it is, with its lifting


def open_spans(step: StepRule, openings: Iterable[Opening], entrance: Iterable[SignOff]) -> Spans:
    """Return when the step is open: from an opening on, until the entrance is revoked."""
    if step.always_open:
        return ALWAYS
    revoked = sorted(sign_off.happened_us for sign_off in entrance if sign_off.decision == "revoked")
    return Spans.of((opening.happened_us, _first_from(revoked, opening.happened_us)) for opening in openings)


def pauses(step: StepRule, history: History) -> tuple[Pause, ...]:
    """Return the pauses that the cautions on loads of the step make, each until its end or its lifting."""
    lifted_us: dict[str, int] = {}
    for lift in history.lifts:
        lifted_us[lift.caution] = min(lift.happened_us, lifted_us.get(lift.caution, FOREVER))
    return tuple(
        Pause(shared, caution.until_us, _lasting(caution, lifted_us.get(caution.id, FOREVER)))
        for caution in history.cautions
        if (shared := step.loads & caution.loads)
    )


def _lasting(caution: Caution, lifted_us: int) -> Span:
    return Span(caution.from_us, lifted_us if caution.until_us is None else min(caution.until_us, lifted_us))


def counted_attempts(step: StepRule, history: History, zone: str, opened: Spans, paused: Spans) -> tuple[Counted, ...]:
    """Return the step's attempts that count, by moment and id.

    A voided attempt never happened. A try at a closed step or under a caution is kept on record but
    not counted, and where a coach opens the step only judged attempts count.
    """
    voided = {void.attempt for void in history.voids}
    counting = (
        attempt
        for attempt in history.attempts
        if attempt.step == step.code
        and attempt.id not in voided
        and not attempt.closed_try
        and (attempt.source == "judged" or not step.asks_clearance)
        and opened.covers(attempt.happened_us)
        and not paused.covers(attempt.happened_us)
    )
    return tuple(_placed(attempt, zone) for attempt in sorted(counting, key=_by_moment))


def _by_moment(attempt: Attempt) -> tuple[int, str]:
    return attempt.happened_us, attempt.id


def _placed(attempt: Attempt, zone: str) -> Counted:
    on = local_date(attempt.happened_us, zone)
    return Counted(attempt, on, attempt.session or f"day:{on}")


def _first_from(moments: list[int], us: int) -> int:
    place = bisect_left(moments, us)
    return moments[place] if place < len(moments) else FOREVER
