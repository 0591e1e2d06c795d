"""Risk notes of a step, by the place of the risk: set-up, going upside down, a low bar, coming down, spotting.

The general lines are our own words for common practice (no published source) and come after local codes, the equipment
maker's instructions and licensed practice. What the step itself says stands beside them. Nothing here judges health.
"""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

PLACES: Final = {
    "set_up": "Set-up",
    "upside_down": "Going upside down",
    "low_bar": "A low bar beneath a higher one",
    "room": "Room to come down",
    "spotting": "Spotting",
    "step": "At this step",
}

# When it applies, the place, the line. Each is a word of `StepRisks.words`.
GENERAL: Final = (
    ("risky", "set_up", "Local codes, the equipment maker’s instructions and licensed practice come first."),
    (
        "inverted",
        "upside_down",
        "Show the way back first. Dizzy, a headache, odd sight: down at once, and no more today.",
    ),
    ("over_bar", "upside_down", "Over the bar the grip turns along; who cannot hang on to a stop does not start."),
    ("low_bar", "low_bar", "Look up from where the head will be: nothing to strike, above or behind, in any position."),
    ("risky", "room", "Mats lie under the whole way; nobody walks, waits or leaves things where legs can come down."),
    (
        "risky",
        "spotting",
        "Agree beforehand who spots and where; hands on before the feet leave; only with consent.",
    ),
)


@dataclass(frozen=True, slots=True)
class StepRisks:
    """What of a step its risk notes are made of; `loads` are codes."""

    inverted: bool
    over_bar: bool
    low_bar: bool
    loads: frozenset[str] = frozenset()
    set_up: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    getting_down: str = ""

    @property
    def is_asked(self) -> bool:
        """Whether a coach has to have read the notes: it turns people over, goes over the bar or uses a low one."""
        return self.inverted or self.over_bar or self.low_bar

    @property
    def words(self) -> frozenset[str]:
        """When the general lines apply."""
        flags = {"inverted": self.inverted, "over_bar": self.over_bar, "low_bar": self.low_bar, "risky": self.is_asked}
        return frozenset(name for name, holds in flags.items() if holds)


@dataclass(frozen=True, slots=True)
class RiskNote:
    """The lines about one place."""

    place: str
    lines: tuple[str, ...]

    @property
    def title(self) -> str:
        """What the place is called."""
        return PLACES[self.place]


def risk_notes(step: StepRisks) -> tuple[RiskNote, ...]:
    """Return the notes of a step, in the order of `PLACES`; places with nothing to say are left out."""
    lines: dict[str, list[str]] = {place: [] for place in PLACES}
    for when, place, line in GENERAL:
        if when in step.words:
            lines[place].append(line)
    lines["set_up"] += step.set_up
    lines["room"] += _coming_down(step)
    lines["step"] += step.cautions
    return tuple(RiskNote(place, tuple(said)) for place, said in lines.items() if said)


def _coming_down(step: StepRisks) -> list[str]:
    landing = ["Land on both feet, knees soft, and only where the mat is."] if "landing" in step.loads else []
    return [*landing, *([step.getting_down] if step.getting_down else [])]


def digest_of(notes: Iterable[RiskNote]) -> str:
    """Return the SHA-256 of the notes, as 64 hexadecimal digits: other words are another version to be read."""
    said = [[note.place, [*note.lines]] for note in notes]
    return hashlib.sha256(json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode()).hexdigest()
