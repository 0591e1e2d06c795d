"""What happened: the facts of one athlete in one gym. Facts are appended, never edited."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Literal, Protocol, TypeVar

Source = Literal["judged", "counted", "timed_only", "own"]
Gate = Literal["entrance", "finish"]
Decision = Literal["passed", "not_yet", "revoked"]
Clearance = Literal["", "spotted", "present", "alone"]

UNASSISTED = "none"


@dataclass(frozen=True, slots=True)
class Attempt:
    """One try at a step: a hold, ``reps`` times over, or without ``hold_tenths`` a set of ``reps``."""

    id: str
    step: str
    happened_us: int
    recorded_us: int
    session: str  # "" = outside any training session
    hold_tenths: int | None
    reps: int
    unbroken: bool
    source: Source
    assistance: str  # UNASSISTED or a code such as "band"
    variant: str  # "" or a code
    faults: frozenset[str]
    missed: frozenset[str]  # checkpoints that the try did not show
    pain: bool
    grade: int  # 0 = not graded
    closed_try: bool  # tried, with a reason, at a step that was closed: never counted
    angle_degrees: int | None = None  # 0 to 180, as the step says which angle; None = not measured

    @property
    def clean(self) -> bool:
        """No fault, no missed checkpoint, no pain. Assistance is a condition of its own."""
        return not (self.faults or self.missed or self.pain)


@dataclass(frozen=True, slots=True)
class Void:
    """Takes an attempt back, retroactively: it never happened."""

    attempt: str
    happened_us: int
    recorded_us: int


@dataclass(frozen=True, slots=True)
class Opening:
    """Opens a step for the athlete from ``happened_us`` on."""

    id: str
    step: str
    happened_us: int
    recorded_us: int


@dataclass(frozen=True, slots=True)
class SignOff:
    """A coach's decision at the entrance or the finish of a step, with the attempts that it rests on."""

    id: str
    step: str
    gate: Gate
    decision: Decision
    clearance: Clearance
    criterion_version: int
    evidence: tuple[str, ...]
    happened_us: int
    recorded_us: int


@dataclass(frozen=True, slots=True)
class Caution:
    """Loads that the athlete may not take, from a moment until another (None = until lifted)."""

    id: str
    loads: frozenset[str]
    from_us: int
    until_us: int | None
    recorded_us: int


@dataclass(frozen=True, slots=True)
class Lift:
    """Ends a caution at ``happened_us``."""

    caution: str
    happened_us: int
    recorded_us: int


class _Recorded(Protocol):
    @property
    def recorded_us(self) -> int: ...


class _OfStep(Protocol):
    @property
    def step(self) -> str: ...


_R = TypeVar("_R", bound=_Recorded)
_S = TypeVar("_S", bound=_OfStep)


@dataclass(frozen=True, slots=True)
class History:
    """All facts of ONE athlete in ONE gym. The order inside the tuples carries no meaning."""

    attempts: tuple[Attempt, ...] = ()
    voids: tuple[Void, ...] = ()
    openings: tuple[Opening, ...] = ()
    sign_offs: tuple[SignOff, ...] = ()
    cautions: tuple[Caution, ...] = ()
    lifts: tuple[Lift, ...] = ()

    def known_at(self, us: int) -> "History":
        """Return the history without the facts that were recorded after ``us``."""
        return History(**{field.name: _recorded_by(us, getattr(self, field.name)) for field in fields(self)})

    def by_step(self) -> dict[str, "History"]:
        """Split into one history a step that has facts; voids, cautions and lifts go with each."""
        attempts, openings, sign_offs = (
            _by_step(self.attempts),
            _by_step(self.openings),
            _by_step(self.sign_offs),
        )
        return {
            step: replace(
                self,
                attempts=attempts.get(step, ()),
                openings=openings.get(step, ()),
                sign_offs=sign_offs.get(step, ()),
            )
            for step in {*attempts, *openings, *sign_offs}
        }


def _recorded_by(us: int, facts: tuple[_R, ...]) -> tuple[_R, ...]:
    return tuple(fact for fact in facts if fact.recorded_us <= us)


def _by_step(facts: Iterable[_S]) -> dict[str, tuple[_S, ...]]:
    groups: defaultdict[str, list[_S]] = defaultdict(list)
    for fact in facts:
        groups[fact.step].append(fact)
    return {step: tuple(group) for step, group in groups.items()}
