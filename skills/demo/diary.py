"""What happened to one athlete of the demo gym: the engine's facts, and who did what and why."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Generic, TypeVar

from skills.core import facts
from skills.core.timeline import Timeline
from skills.demo.cast import Role
from skills.demo.latent import Latent

Fact = TypeVar("Fact", facts.Void, facts.SignOff, facts.Caution, facts.Lift)
OWN = "self"
"""Who logged an athlete's own entry, where others stand with their key."""


@dataclass(frozen=True, slots=True)
class Tried:
    """An attempt, who logged it, and its effort from 1 to 10 where somebody asked."""

    fact: facts.Attempt
    by: str
    effort: int | None


@dataclass(frozen=True, slots=True)
class Noted(Generic[Fact]):
    """A fact that a coach made, with its reason."""

    fact: Fact
    by: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Opened:
    """An opening; `sign_off` is the decision that opened, empty where nobody had to."""

    fact: facts.Opening
    sign_off: str


@dataclass(frozen=True, slots=True)
class Measured:
    """Stature and mass on a day."""

    on: date
    stature_mm: int
    mass_dag: int  # tens of grams


@dataclass(frozen=True, slots=True)
class Trainee:
    """An athlete of the demo gym."""

    id: str
    number: int
    role: Role
    birth_on: date
    joined_on: date
    minor: bool
    latent: Latent
    measures: tuple[Measured, ...]


@dataclass(slots=True)
class Diary:
    """Everything about one athlete, in order of time."""

    trainee: Trainee
    present: list[str] = field(default_factory=list)  # ids of sessions
    strengths: list[tuple[date, float]] = field(default_factory=list)
    tries: list[Tried] = field(default_factory=list)
    voids: list[Noted[facts.Void]] = field(default_factory=list)
    openings: list[Opened] = field(default_factory=list)
    sign_offs: list[Noted[facts.SignOff]] = field(default_factory=list)
    cautions: list[Noted[facts.Caution]] = field(default_factory=list)
    lifts: list[Noted[facts.Lift]] = field(default_factory=list)
    timelines: dict[str, Timeline] = field(default_factory=dict)
