"""A week of one athlete told otherwise later: cleared on the 3rd, and then a void, a new rule, a revocation."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime

import time_machine

from athletes.models import Athlete, Membership
from skills.core.criteria import parse
from skills.core.days import moment_us
from skills.core.standards import FULL_STANDARD
from skills.models import Attempt, SignOff
from skills.services.attempts import void_attempt
from skills.services.criteria import adopt_criterion
from tests.factories.skills import check_bar_on, decide, library, log, page_of, pass_step, start_class

STEP = "pullover-3a"


def on(day: int, hour: int = 18, minute: int = 0) -> datetime:
    """A moment of November 2026 on the clock of Berlin, an hour ahead of UTC then."""
    return datetime(2026, 11, day, hour - 1, minute, tzinfo=UTC)


@contextmanager
def at(moment: datetime) -> Iterator[None]:
    with time_machine.travel(moment, tick=False):
        yield


@dataclass(frozen=True)
class Season:
    """What happened: three holds on the 2nd and 3rd, the sign-off on the 3rd at 18:30."""

    holds: tuple[Attempt, ...]
    signed: SignOff


def play(owner: Membership, coach: Membership, athlete: Athlete) -> Season:
    with at(on(1, 10)):
        library(owner.gym, owner)
    with at(on(1, 12)):
        pass_step(coach, athlete, "pullover-3")
        pass_step(coach, athlete, "pullover-2")
        decide(coach, athlete, STEP, "entrance", clearance="spotted")
    holds = []
    for day, minute in ((2, 0), (2, 5), (3, 0)):
        with at(on(day, 18, minute)):
            holds.append(log(coach, athlete, STEP, 6.0 + minute))
    with at(on(3, 18, 10)):
        log(coach, athlete, STEP, 4.9)
        check_bar_on(coach)
        log(coach, athlete, STEP, 7, faults=("tuck-opens",), session=start_class(coach, athlete))
    with at(on(3, 18, 30)):
        signed = decide(coach, athlete, STEP, clearance="alone")
    with at(on(5)):
        void_attempt(by=coach, attempt=holds[0], reason="Another athlete")
    with at(on(6)):
        adopt_criterion(by=owner, step=page_of(owner.gym, STEP), criterion=parse(FULL_STANDARD))
    with at(on(7)):
        decide(coach, athlete, STEP, decision="revoked", reason="Lost the shape")
    owner.gym.refresh_from_db()
    athlete.gym.refresh_from_db()
    return Season(tuple(holds), signed)


def us(moment: datetime) -> int:
    return moment_us(moment)
