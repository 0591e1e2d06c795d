"""What a skill file says, as frozen values. A tuple keeps the order of the file."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from skills.core.levers import Pose

Measure = Literal["hold", "reps"]

MEASURES = ("hold", "reps")
STATIONS = ("high_bar", "low_bar", "rings", "floor", "box")
LOADS = ("hanging", "inversion", "pulling", "support", "straight_arm", "landing")
TRADE_PRACTICE = ("spotting", "rest", "gates", "mats", "getting_down")

# Lengths in characters, as the gym's tables hold them.
MOST_CODE = 60
MOST_LABEL = 8
MOST_SKILL_NAME = 80
MOST_NAME = 120
MOST_ANGLE = 80
MOST_WORD = 200
MOST_TEXT = 2000
# Numbers of rows in one list, and of steps in one skill.
MOST_ROWS = 40
MOST_STEPS = 100
MOST_RECHECK_DAYS = 3660
MOST_OF_DOSE = {"sets": 100, "hold_seconds": 3600, "reps": 500, "rest_seconds": 3600, "days_a_week": 7}
# Words of addresses, which no skill and no step can have for its code.
RESERVED_CODES = ("add", "change", "import", "order")


@dataclass(frozen=True, slots=True)
class FileProblem:
    """One thing that is wrong with a skill file.

    ``head`` names file and step ("swing.yaml, step swing-1"), ``path`` the key inside it ("faults[2].cue"), either may
    be empty; ``line`` is the line of the text, from 1, None where it is not known.
    """

    head: str
    path: str
    sentence: str
    line: int | None = None

    def __str__(self) -> str:
        place = ", ".join(part for part in (self.head, self.path) if part)
        return f"{place}: {self.sentence}" if place else self.sentence


class LibraryError(ValueError):
    """A skill file cannot be used; ``found`` has each thing wrong, ``problems`` the same as sentences with places."""

    def __init__(self, found: tuple[FileProblem, ...]) -> None:
        self.found = found
        self.problems = tuple(map(str, found))
        super().__init__("\n".join(self.problems))


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
    TRADE_PRACTICE) that rest on common practice, without a published source; ``criterion`` is as written;
    ``angle`` says which angle is measured, "" for none; ``station`` is a word of STATIONS, where it is done; ``pose``
    is held against gravity with the trunk upright, None where the step holds none.
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
    angle: str = ""
    station: str = STATIONS[0]
    pose: Pose | None = None


@dataclass(frozen=True, slots=True)
class SkillText:
    """A skill and its steps, in the order in which they are taught."""

    skill: str
    name: str
    purpose: str
    steps: tuple[StepText, ...]
