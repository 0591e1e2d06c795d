"""What the reading of an angle on a still picture asks for and says: kinds of angles, their points, their sources.

The picture itself never comes here: it is read on the device (`static/js/angles/`), and only the number is stored.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from skills.core.sources import SOURCES, Source

TAP_PX: Final = 5  # how far a tap may lie from the place meant, in CSS pixels of the screen; ours


@dataclass(frozen=True, slots=True)
class StillKind:
    """One kind of angle: which points are tapped, in their order along the limb, and what they make.

    `way` is how static/js/angles/geometry.js reads it: a joint of three points, or a line of two from straight down
    or from level.
    """

    code: str
    name: str
    points: tuple[str, ...]
    way: Literal["joint", "down", "level"]
    scale: str
    formula: str


def _joint(code: str, points: tuple[str, str, str], scale: str) -> StillKind:
    first, joint, last = (point.lower() for point in points)
    formula = f"The angle at the {joint} between the line to the {first} and the line to the {last}."
    return StillKind(code, f"{points[1]} angle", points, "joint", scale, formula)


STILL_KINDS: Final = (
    _joint("shoulder", ("Hip", "Shoulder", "Wrist"), "180° is arms in line with the trunk"),
    _joint("hip", ("Shoulder", "Hip", "Knee"), "180° is thigh in line with the trunk"),
    _joint("knee", ("Hip", "Knee", "Ankle"), "180° is a straight knee"),
    StillKind(
        "legs",
        "Legs from straight down",
        ("Hip", "Ankle"),
        "down",
        "0° hangs down, 90° is level, 180° points straight up",
        "The angle between the line from the hip to the ankle and straight down in the picture.",
    ),
    StillKind(
        "upright",
        "A line from straight down",
        ("Upper end", "Lower end"),
        "down",
        "0° is upright, 90° is level",
        "The angle between the line from the upper end to the lower end and straight down in the picture.",
    ),
    StillKind(
        "level",
        "A line from level",
        ("One end", "Other end"),
        "level",
        "0° is level, 90° upright",
        "The angle between the line through both ends and level in the picture.",
    ),
)

WORST_CASE: Final = (
    f"Each point may lie up to {TAP_PX} px of the screen from where it was tapped, at the size shown then. The range "
    "holds every angle that such points can make."
)


@dataclass(frozen=True, slots=True)
class StillPanel:
    """What the reader of angles needs: its kinds, the one that a step's words ask for, and where its figure is from."""

    kinds: tuple[StillKind, ...]
    chosen: str
    tap_px: int
    interval: str
    source: Source


def still_panel(angle: str = "") -> StillPanel:
    """Return the panel for a step's words of its angle; '' for no step in particular."""
    return StillPanel(STILL_KINDS, kind_for(angle), TAP_PX, WORST_CASE, SOURCES["plane-geometry"])


_WORDS: Final = (
    ("legs", r"legs?\b.*\b(?:straight down|vertical|plumb)"),
    ("upright", r"straight down|vertical|plumb"),
    ("level", r"level|horizontal"),
    ("shoulder", r"shoulder|arms?"),
    ("knee", r"knees?"),
    ("hip", r"hips?"),
)


def kind_for(angle: str) -> str:
    """Return the code of the kind that a step's words mean by the look of it: a proposal, and the coach's to change."""
    for code, words in _WORDS:
        if re.search(rf"\b(?:{words})\b", angle, re.IGNORECASE):
            return code
    return STILL_KINDS[0].code
