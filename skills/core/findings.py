"""Findings: what is still missing, as facts and never as sentences. A small closed set."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class TooFewHolds:
    """Fewer holds of at least ``tenths`` than needed."""

    needed: int
    counted: int
    tenths: int


@dataclass(frozen=True, slots=True)
class TooFewSets:
    """Fewer sets of at least ``reps`` reps than needed."""

    needed: int
    counted: int
    reps: int
    unbroken: bool


@dataclass(frozen=True, slots=True)
class TooFewSessions:
    """The successes lie in too few training sessions."""

    needed: int
    counted: int


@dataclass(frozen=True, slots=True)
class TooFewDates:
    """The successes lie on too few days."""

    needed: int
    counted: int


@dataclass(frozen=True, slots=True)
class TooShort:
    """The best hold so far (0 = none) is shorter than needed."""

    needed_tenths: int
    best_tenths: int


@dataclass(frozen=True, slots=True)
class TooFewReps:
    """The best set so far (0 = none) has fewer reps than needed."""

    needed: int
    best: int


@dataclass(frozen=True, slots=True)
class TooFewCleanOfLast:
    """Fewer of the last ``of`` tries were clean and reached the target than needed."""

    needed: int
    counted: int
    of: int


@dataclass(frozen=True, slots=True)
class StepNotPassed:
    """The criterion asks for another step that does not stand as passed."""

    step: str


@dataclass(frozen=True, slots=True)
class OneOf:
    """Any one of the options would do; each is what that option still lacks."""

    options: "tuple[tuple[Finding, ...], ...]"


@dataclass(frozen=True, slots=True)
class PrerequisiteMissing:
    """A required step does not stand as passed, so this one is closed."""

    step: str


@dataclass(frozen=True, slots=True)
class NeedsClearance:
    """A coach has to open the step."""


@dataclass(frozen=True, slots=True)
class NeedsSignOff:
    """The criterion is met; a coach has to finish the step."""


@dataclass(frozen=True, slots=True)
class Paused:
    """A caution forbids these of the step's loads (sorted), until a moment or until it is lifted (None)."""

    loads: tuple[str, ...]
    until_us: int | None


@dataclass(frozen=True, slots=True)
class DueForRecheck:
    """The step was passed and has not been shown for too long, since this moment."""

    since_us: int


@dataclass(frozen=True, slots=True)
class Flagged:
    """What the step rests on has changed; a coach should look (the words are those of the timeline)."""

    flags: tuple[str, ...]


Finding = (
    TooFewHolds
    | TooFewSets
    | TooFewSessions
    | TooFewDates
    | TooShort
    | TooFewReps
    | TooFewCleanOfLast
    | StepNotPassed
    | OneOf
    | PrerequisiteMissing
    | NeedsClearance
    | NeedsSignOff
    | Paused
    | DueForRecheck
    | Flagged
)

Kind = Literal["holds", "reps", "sessions", "dates", "tenths", "clean", "step"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one leaf of a criterion is: ``have`` of ``need``, in the unit that ``kind`` names."""

    have: int
    need: int
    kind: Kind
