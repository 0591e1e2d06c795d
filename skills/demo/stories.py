"""What does not come by chance: pain and its caution, a caution that holds today, a sign-off taken back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import islice
from random import Random
from typing import Final

from skills.demo.cast import AWAY_FROM_SUPPORT_NUMBER, COACHES, PAIN_NUMBER, PAUSED_TODAY_NUMBER, WARD
from skills.demo.coaching import Verdict, sign_off_fact
from skills.demo.diary import Noted
from skills.demo.timetable import MINUTE, Session
from skills.demo.training import Training

Telling = Callable[[Training, Session], None]

PRESENT_TODAY: Final = frozenset({1, WARD, PAUSED_TODAY_NUMBER})
_SUPPORT: Final = frozenset({"support", "straight_arm"})
_REVOKED: Final = "Came out of it head first twice in a row. Back to this step, spotted, before anything above it."


def of(number: int, coming: Sequence[Session]) -> Mapping[str, tuple[Telling, ...]]:
    """Return what is to happen to an athlete, by the id of the class at the end of which it does."""
    ends = coming[len(coming) // 3 : 2 * len(coming) // 3 : max(len(coming) // 6, 1)]
    if len(ends) < 2:
        return {}
    if number == PAIN_NUMBER:
        return {ends[0].id: (_hurts,), ends[1].id: (_lifted,)}
    if number == AWAY_FROM_SUPPORT_NUMBER:
        return {ends[0].id: (_away_from_support,), ends[-1].id: (_lifted,)}
    return {}


def close(rng: Random, trainings: Sequence[Training], sessions: Sequence[Session]) -> None:
    """Tell what happens after everybody's last class."""
    paused = trainings[PAUSED_TODAY_NUMBER - 1]
    paused.caution(
        _SUPPORT,
        by=COACHES[0].key,
        us=_after(sessions[-1]),
        reason="Says a wrist is sore since moving house. No weight on the hands until it is quiet.",
    )
    others = (each for each in trainings if each.diary.trainee.number not in {PAUSED_TODAY_NUMBER, 1, WARD})
    for training, code in islice(
        ((each, code) for each in others for code in _rested_on(each, _after(sessions[-1]))), 1
    ):
        _revoke(rng, training, code, _after(sessions[-1]))


def _hurts(training: Training, session: Session) -> None:
    training.pain(session)


def _away_from_support(training: Training, session: Session) -> None:
    reason = "Shoulder tired from a week of painting ceilings; asked to leave support alone for now."
    training.caution(_SUPPORT, by=session.coach.key, us=_after(session), reason=reason)


def _lifted(training: Training, session: Session) -> None:
    if training.notebook.forbidden(_after(session)):
        training.lift(by=session.coach.key, us=_after(session))


def _after(session: Session) -> int:
    return session.starts_us + 74 * MINUTE


def _rested_on(training: Training, us: int) -> list[str]:
    """Return inverted steps that are signed off, and on which a step rests that is open."""
    rules = training.notebook.rules
    return [
        code
        for code in rules.order
        if rules.steps[code].inverted
        and training.notebook.now(code, us).base == "passed"
        and any(
            code in rules.steps[other].requires and training.notebook.now(other, us).base != "closed"
            for other in rules.dependents(code)
        )
    ]


def _revoke(rng: Random, training: Training, code: str, us: int) -> None:
    fact = sign_off_fact(training.notebook, rng, Verdict(code, "finish", "revoked"), us)
    training.notebook.decide(Noted(fact, COACHES[0].key, _REVOKED))
