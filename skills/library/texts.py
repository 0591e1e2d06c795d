"""What a skill file says, as frozen values. A tuple keeps the order of the file."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Measure = Literal["hold", "reps"]

MEASURES = ("hold", "reps")
LOADS = ("hanging", "inversion", "pulling", "support", "straight_arm", "landing")
TRADE_PRACTICE = ("spotting", "rest", "gates", "mats", "getting_down")


class LibraryError(ValueError):
    """A skill file cannot be used; ``problems`` has one sentence, with its place, for each thing wrong."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class CheckpointText:
    """One thing that a correct attempt shows."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class FaultText:
    """A named error and the few words that mend it."""

    code: str
    name: str
    cue: str
    dangerous: bool


@dataclass(frozen=True, slots=True)
class VariantText:
    """An accepted easier form, recorded and not a fault."""

    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Dose:
    """Practice of a step. ``hold_seconds`` is the length of one hold, None when reps are not held."""

    sets: int
    hold_seconds: int | None
    reps: int
    rest_seconds: int
    days_a_week: int


@dataclass(frozen=True, slots=True)
class SwapDrill:
    """What to do instead when no bar is free or a caution forbids the step."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class StepText:
    """One step, whole.

    ``loads`` are words of LOADS, ``requires`` step codes of any skill; ``recheck_days`` is None for never;
    ``grades`` go from the lowest, which has rank 1; ``trade_practice`` names the parts (words of
    TRADE_PRACTICE) that rest on common practice, without a published source; ``criterion`` is as written.
    """

    code: str
    label: str
    name: str
    purpose: str
    set_up: tuple[str, ...]
    measure: Measure
    loads: tuple[str, ...]
    inverted: bool
    over_bar: bool
    low_bar_check: bool
    side_drill: bool
    requires: tuple[str, ...]
    asks_clearance: bool
    needs_sign_off: bool
    recheck_days: int | None
    grades: tuple[str, ...]
    checkpoints: tuple[CheckpointText, ...]
    faults: tuple[FaultText, ...]
    variants: tuple[VariantText, ...]
    cautions: tuple[str, ...]
    getting_down: str | None
    dose: Dose
    swap_drill: SwapDrill
    trade_practice: tuple[str, ...]
    criterion: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class SkillText:
    """A skill and its steps, in the order in which they are taught."""

    skill: str
    name: str
    purpose: str
    steps: tuple[StepText, ...]
