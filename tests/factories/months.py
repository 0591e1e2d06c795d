"""Months full of chance: rows written straight into the tables, as many as asked for, the same for the same seed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from athletes.models import Athlete, Gym, Membership
from skills.core.month import Bounds
from skills.models import Attempt, AttemptVoid, CriterionVersion, Opening, SignOff, Step, TrainingSession
from tests.factories.skills import step_of

STEPS = ("pullover-1", "pullover-3", "pullover-3a", "pullover-6")


@dataclass(frozen=True)
class Cast:
    """Who takes part; `loggers` log attempts, athletes among them for their own entries."""

    gym: Gym
    athletes: Sequence[Athlete]
    coaches: Sequence[Membership]
    loggers: Sequence[Membership]


def deal(cast: Cast, *, seed: int, within: Bounds, attempts: int, codes: Sequence[str] = STEPS) -> None:
    """Deal sessions, attempts, voids, sign-offs and openings; attempts may lie a little outside, too."""
    chance = Random(seed)
    steps = [step_of(cast.gym, code) for code in codes]
    sessions = [_session(cast, chance, within) for _ in range(attempts // 20 + 1)]
    TrainingSession.objects.bulk_create(sessions)
    rows = [_attempt(cast, chance, chance.choice(steps), chance.choice(sessions), within) for _ in range(attempts)]
    Attempt.objects.bulk_create(rows)
    _void(cast, chance, rows, within)
    _decide(cast, chance, steps, within, attempts // 15 + 1)


def _moment(chance: Random, within: Bounds) -> datetime:
    """Any moment, now and then the very first or the very last."""
    length_us = (within.ends_at - within.starts_at) // timedelta(microseconds=1)
    place_us = chance.choice([0, length_us - 1, *(chance.randrange(length_us) for _ in range(18))])
    return within.starts_at + timedelta(microseconds=place_us)


def _session(cast: Cast, chance: Random, within: Bounds) -> TrainingSession:
    coach, at = chance.choice(cast.coaches), _moment(chance, within)
    return TrainingSession(gym=cast.gym, name="Evening class", coach=coach, starts_at=at)


def _attempt(cast: Cast, chance: Random, step: Step, session: TrainingSession, within: Bounds) -> Attempt:
    """In a session nearly always, and then within two hours of its start: over midnight, too."""
    logger, in_class = chance.choice(cast.loggers), chance.random() < 0.9
    times = Bounds(session.starts_at, session.starts_at + timedelta(hours=2)) if in_class else within
    return Attempt(
        gym=cast.gym,
        athlete=chance.choice(cast.athletes),
        step=step,
        session=session if in_class else None,
        logged_by=logger,
        happened_at=_moment(chance, times),
        source="judged" if logger.is_staff_member else "own",
        hold_tenths=chance.choice([None, 19, 20, chance.randint(1, 400)]),
        reps=chance.choice([1, 1, 1, 3, 5]),
        faults=chance.choice([[], [], ["shoulders-close"]]),
        missed=chance.choice([[], [], [], ["long-arms"]]),
        pain=chance.random() < 0.03,
        closed_try=chance.random() < 0.05,
    )


def _void(cast: Cast, chance: Random, rows: Sequence[Attempt], within: Bounds) -> None:
    """Take some back: at once, or long after the month is over."""
    AttemptVoid.objects.bulk_create(
        AttemptVoid(
            gym=cast.gym,
            attempt=attempt,
            athlete=attempt.athlete,
            voided_by=chance.choice(cast.coaches),
            happened_at=chance.choice([attempt.happened_at, within.ends_at + timedelta(days=70)]),
            remark_commitment="0" * 64,
        )
        for attempt in rows
        if chance.random() < 0.1
    )


def _decide(cast: Cast, chance: Random, steps: Sequence[Step], within: Bounds, count: int) -> None:
    criteria = {row.step_id: row for row in CriterionVersion.objects.filter(gym=cast.gym)}
    decisions = [
        _decision(cast, chance, criteria[chance.choice(steps).id], _moment(chance, within)) for _ in range(count)
    ]
    SignOff.objects.bulk_create(decisions)
    entered = [row for row in decisions if row.gate == "entrance" and row.decision == "passed"]
    Opening.objects.bulk_create(
        Opening(
            gym=cast.gym,
            athlete=row.athlete if row else chance.choice(cast.athletes),
            step=row.step if row else chance.choice(steps),
            sign_off=row,
            happened_at=row.happened_at if row else _moment(chance, within),
        )
        for row in [*entered, *[None] * count]
    )


def _decision(cast: Cast, chance: Random, criterion: CriterionVersion, at: datetime) -> SignOff:
    decision = chance.choice(["passed", "passed", "not_yet", "revoked"])
    return SignOff(
        gym=cast.gym,
        athlete=chance.choice(cast.athletes),
        step=criterion.step,
        criterion=criterion,
        gate=chance.choice(["entrance", "finish"]),
        decision=decision,
        clearance="present" if decision == "passed" else "",
        signed_by=chance.choice(cast.coaches),
        happened_at=at,
        remark_commitment="" if decision == "passed" else "0" * 64,
    )
