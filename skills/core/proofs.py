"""The proof of one athlete and one day: what stood, over which part of the day, and on what."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

from skills.core.days import day_starts_us
from skills.core.facts import Attempt, Caution, Clearance, History
from skills.core.spans import FOREVER
from skills.core.timeline import State, Timeline

_DIGEST_LETTERS = 16


@dataclass(frozen=True, slots=True)
class DaySpan:
    """A day of the gym, from its first microsecond to its last, or to now while it is today."""

    day: date
    from_us: int
    to_us: int

    @classmethod
    def of(cls, day: date, zone: str, now_us: int) -> "DaySpan":
        """Return the day as far as it has gone; it has begun."""
        return cls(day, day_starts_us(day, zone), min(now_us, day_starts_us(day + timedelta(days=1), zone) - 1))

    def holds(self, us: int) -> bool:
        """Whether a moment lies in the day."""
        return self.from_us <= us <= self.to_us


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the day over which state and clearance stayed the same."""

    from_us: int
    state: State
    clearance: Clearance


def stretches(timeline: Timeline, span: DaySpan) -> tuple[Stretch, ...]:
    """Return how it stood at a step over a day, from its start on."""
    changes = [timeline.at(span.from_us), *(change for change in timeline.changes if span.holds(change.from_us))]
    found: list[Stretch] = []
    for change in changes:
        stretch = Stretch(max(change.from_us, span.from_us), change.state, change.clearance)
        if not found or (found[-1].state, found[-1].clearance) != (stretch.state, stretch.clearance):
            found.append(stretch)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class DayTries:
    """The attempts of a day at one step as known now, counted; ``late`` were recorded after the day."""

    standing: int
    judged: int
    clean: int
    taken_back: int
    late: int
    digest: str  # of the ids of all of them


def tries_of_day(history: History, span: DaySpan) -> Mapping[str, DayTries]:
    """Return the attempts of a day, counted by step."""
    voided = {void.attempt for void in history.voids}
    groups: dict[str, list[Attempt]] = {}
    for attempt in history.attempts:
        if span.holds(attempt.happened_us):
            groups.setdefault(attempt.step, []).append(attempt)
    return {step: _counted(attempts, voided, span) for step, attempts in groups.items()}


def _counted(attempts: list[Attempt], voided: set[str], span: DaySpan) -> DayTries:
    standing = [attempt for attempt in attempts if attempt.id not in voided]
    return DayTries(
        standing=len(standing),
        judged=sum(attempt.source == "judged" for attempt in standing),
        clean=sum(attempt.clean for attempt in standing),
        taken_back=len(attempts) - len(standing),
        late=sum(attempt.recorded_us > span.to_us for attempt in attempts),
        digest=digest_of(attempt.id for attempt in attempts),
    )


def digest_of(ids: Iterable[str]) -> str:
    """Return the start of the SHA-256 of ids, sorted, a line each: who has the ids can check them against a print."""
    return sha256("\n".join(sorted(ids)).encode()).hexdigest()[:_DIGEST_LETTERS]


def cautions_over(history: History, span: DaySpan) -> Iterator[Caution]:
    """Yield the cautions that held at any moment of the day, as known now, by when they began."""
    lifted = {lift.caution: lift.happened_us for lift in sorted(history.lifts, key=lambda lift: -lift.happened_us)}
    for caution in sorted(history.cautions, key=lambda each: (each.from_us, each.id)):
        end = min(FOREVER if caution.until_us is None else caution.until_us, lifted.get(caution.id, FOREVER))
        if caution.from_us <= span.to_us and max(caution.from_us, span.from_us) < end:
            yield caution
