"""Why a week's practice is as it is, and why a step has none: facts, never sentences. A small closed set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class NextStep:
    """It is the athlete's next step."""


@dataclass(frozen=True, slots=True)
class NextOfSkill:
    """It is the next step of a skill; `practised`: one that the athlete practised in the last weeks."""

    practised: bool


@dataclass(frozen=True, slots=True)
class OpenToo:
    """It is open, and its skill is being practised."""


@dataclass(frozen=True, slots=True)
class ChosenByCoach:
    """A coach put it there, or changed it."""


@dataclass(frozen=True, slots=True)
class ByBest:
    """The longest rung within `share_percent` of the best clean hold."""

    rung_s: int
    best_tenths: int
    share_percent: int


@dataclass(frozen=True, slots=True)
class ByTarget:
    """The best clean hold would bear more, but the step asks for no longer one."""

    rung_s: int
    target_tenths: int


@dataclass(frozen=True, slots=True)
class WithHelp:
    """The shortest rung is too long for the best clean hold (0 = none of late) without help."""

    rung_s: int
    best_tenths: int


@dataclass(frozen=True, slots=True)
class ByBestSet:
    """As many reps as the best clean set; for minors one fewer, and never less than one."""

    reps: int
    best_reps: int
    one_fewer: bool


@dataclass(frozen=True, slots=True)
class HalfOfOwn:
    """No clean set of late: half of what the step itself says, rounded up."""

    reps: int
    own_reps: int


@dataclass(frozen=True, slots=True)
class FewerSets:
    """A longer rung than the step's own: fewer sets, so that a day is about as long as the step says."""

    sets: int
    own_sets: int


@dataclass(frozen=True, slots=True)
class LongerRest:
    """A longer rung than the step's own: a longer rest."""

    rest_s: int


@dataclass(frozen=True, slots=True)
class NotToFailure:
    """A minor's: no hold and no set to failure."""


@dataclass(frozen=True, slots=True)
class InClassOnly:
    """It asks for a clearance that is not *alone*, or for a low bar that a coach checked: in class."""

    clearance: str
    low_bar: bool


@dataclass(frozen=True, slots=True)
class ClassDays:
    """There are no classes on more days of a week."""

    days: int


@dataclass(frozen=True, slots=True)
class AfterAway:
    """After so many days away: half the sets, rounded up."""

    days_away: int


@dataclass(frozen=True, slots=True)
class ByRoom:
    """Less than it would be, so that the week stays within the hang time or the pulls of the person."""


@dataclass(frozen=True, slots=True)
class UnderCaution:
    """No dose: a caution lies on it."""


@dataclass(frozen=True, slots=True)
class LacksConsent:
    """No dose: a consent that it asks for is lacking."""


@dataclass(frozen=True, slots=True)
class NotThisWeek:
    """No dose: a coach took it out of this week."""


@dataclass(frozen=True, slots=True)
class NoRoom:
    """No dose: the week's hang time or pulls are used up by what comes before it."""


@dataclass(frozen=True, slots=True)
class NotOpen:
    """No dose, though a coach had changed it: the step is not open any more."""


Why = (
    NextStep | NextOfSkill | OpenToo | ChosenByCoach | ByBest | ByTarget | WithHelp | ByBestSet | HalfOfOwn | FewerSets
    | LongerRest | NotToFailure | InClassOnly | ClassDays | AfterAway | ByRoom
)  # fmt: skip
WhyNone = UnderCaution | LacksConsent | NotThisWeek | NoRoom | NotOpen
Place = Literal["class", "anywhere"]
