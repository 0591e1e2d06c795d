"""Findings: what is still missing, as facts and never as sentences. A small closed set."""

from dataclasses import dataclass
from typing import Literal

from skills.core.conditions import Aim, Bound, Confidence


@dataclass(frozen=True, slots=True)
class TooFewHolds:
    """Fewer holds of at least ``tenths`` than needed; ``clean``: only clean ones count, here and below."""

    needed: int
    counted: int
    tenths: int
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooFewSets:
    """Fewer sets of at least ``reps`` reps than needed."""

    needed: int
    counted: int
    reps: int
    unbroken: bool
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooFewSessions:
    """The successes lie in too few training sessions.

    Another ``aim`` has to be reached, by a clean try where ``clean`` says so; None where the finding before tells what.
    """

    needed: int
    counted: int
    aim: Aim | None = None
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooFewDates:
    """The successes lie on too few days.

    Another ``aim`` has to be reached, by a clean try where ``clean`` says so; None where the finding before tells what.
    """

    needed: int
    counted: int
    aim: Aim | None = None
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooShort:
    """The best hold so far (0 = none) is shorter than needed."""

    needed_tenths: int
    best_tenths: int
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooFewReps:
    """The best set so far (0 = none) has fewer reps than needed."""

    needed: int
    best: int
    unbroken: bool = False
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooFewCleanOfLast:
    """Fewer of the last ``of`` tries were clean and reached the aim than needed."""

    needed: int
    counted: int
    of: int
    aim: Aim


@dataclass(frozen=True, slots=True)
class TooFewAngles:
    """Fewer tries with the angle asked for than needed; ``best_degrees`` is the nearest so far (None = none)."""

    needed: int
    counted: int
    degrees: int
    bound: Bound
    tenths: int  # 0 = not asked to be held
    best_degrees: int | None
    clean: bool = True


@dataclass(frozen=True, slots=True)
class TooUnreliable:
    """The tries in view, ``good`` of ``of``, do not show the rate needed.

    ``more`` that reach the aim, one after the other, would; clean where ``clean`` says so.
    """

    needed_percent: int
    confidence: Confidence
    good: int
    of: int
    more: int
    aim: Aim
    clean: bool = True


@dataclass(frozen=True, slots=True)
class StepNotPassed:
    """The criterion asks for another step that does not stand as passed."""

    step: str


@dataclass(frozen=True, slots=True)
class OneOf:
    """Any one of the options would do; each is what that option still lacks."""

    options: "tuple[tuple[Finding, ...], ...]"


@dataclass(frozen=True, slots=True)
class SomeOf:
    """``count`` of the options would do; each is what that option still lacks, and none lacks nothing."""

    count: int
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
class Showing:
    """One try that would show a step again: one that reaches the aim, clean where ``clean`` says so."""

    aim: Aim
    clean: bool


@dataclass(frozen=True, slots=True)
class DueForRecheck:
    """The step was passed and has not been shown for too long, since this moment; any one showing ends it."""

    since_us: int
    showings: tuple[Showing, ...] = ()  # without repeats, in the order of the criterion's leaves


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
    | TooFewAngles
    | TooUnreliable
    | StepNotPassed
    | OneOf
    | SomeOf
    | PrerequisiteMissing
    | NeedsClearance
    | NeedsSignOff
    | Paused
    | DueForRecheck
    | Flagged
)

Kind = Literal["holds", "reps", "sessions", "dates", "tenths", "clean", "angles", "percent", "step"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one leaf of a criterion is: ``have`` of ``need``, in the unit that ``kind`` names."""

    have: int
    need: int
    kind: Kind
