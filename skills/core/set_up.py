"""Setting a bar for a body: which hole, whether the hang is free, whether the legs swing clear. Whole millimetres.

Nothing that was not measured of the surroundings is taken as free: what hangs on it is None, and is asked for. Facts
of the trade without a published source ("common practice"): a low bar stands about at chest height, and between two
holes the lower one is taken; ours: never above the armpit, where a person would hang on the bar instead of pulling
down onto it, and more than `TOO_LOW_MM` below the chest does not suit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from skills.core.body_heights import Height

TOO_LOW_MM: Final = 100  # ours: two holes of the usual pitch
TIGHT_MM: Final = 100  # ours: less than a hand is left, and a body in a swing is longer than one at rest
DIAMETER_TENTHS_MM: Final = (160, 600)  # the thinnest and the thickest that is taken for a bar to hang on
# The usual ones (a horizontal bar has 28 mm, a rail 40, pull-up bars about 32 to 38); 45 is the thickest grip of
# EN 1176-1 for playgrounds. Outside of these a diameter is to be confirmed.
USUAL_DIAMETER_TENTHS_MM: Final = (250, 450)
Verdict = Literal["clear", "unsure", "not clear"]


@dataclass(frozen=True, slots=True)
class Setting:
    """One way in which a bar can stand: the hole, counted from the lowest (None for a fixed bar), and its top in mm."""

    hole: int | None
    top_mm: int


@dataclass(frozen=True, slots=True)
class Holes:
    """The evenly spaced holes of a rack: the height of the bar's top in the lowest, the pitch in tenths, how many."""

    first_mm: int
    pitch_tenths_mm: int
    count: int

    def top_mm(self, hole: int) -> int:
        """Return the height of the bar's top in a hole, to the whole mm; ValueError for a hole that is not there."""
        if not 1 <= hole <= self.count:
            raise ValueError(f"The holes are 1 to {self.count}, not {hole}.")
        return (self.first_mm * 10 + (hole - 1) * self.pitch_tenths_mm + 5) // 10


@dataclass(frozen=True, slots=True)
class BarPlace:
    """A bar and what is around it; None for what nobody has measured. `stands` is its height, or its holes.

    Heights are above the floor, the top of the bar; `front_mm` and `behind_mm` from the bar to the next bar or wall.
    """

    stands: int | Holes
    diameter_tenths_mm: int
    ceiling_mm: int | None = None
    front_mm: int | None = None
    behind_mm: int | None = None
    mat_mm: int = 0

    @property
    def settings(self) -> tuple[Setting, ...]:
        """All ways in which it can stand, from low to high."""
        if isinstance(self.stands, int):
            return (Setting(None, self.stands),)
        return tuple(Setting(hole, self.stands.top_mm(hole)) for hole in range(1, self.stands.count + 1))

    def above_mat_mm(self, setting: Setting) -> int:
        """Return how high the bar's top is over the mat that people stand on."""
        return setting.top_mm - self.mat_mm

    def grip_mm(self, setting: Setting) -> int:
        """Return how high the middle of the bar is over the floor, rounded down."""
        return setting.top_mm - (self.diameter_tenths_mm + 19) // 20


# ---- A low bar, at the chest ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LowFit:
    """A setting of a low bar for one body: how far its top is above the chest (below: less than 0) and the armpit.

    The armpit is the low end of its interval, so that an estimate is not trusted upwards.
    """

    setting: Setting
    above_chest_mm: int
    above_armpit_mm: int

    @property
    def suits(self) -> bool:
        """Whether it is at or under the armpit and not too far below the chest."""
        return self.above_armpit_mm <= 0 and self.above_chest_mm >= -TOO_LOW_MM


def low_fit(bar: BarPlace, setting: Setting, chest: Height, armpit: Height) -> LowFit:
    """Return how a setting fits a body that stands on the bar's mat."""
    above_mm = bar.above_mat_mm(setting)
    return LowFit(setting, above_mm - chest.mm, above_mm - armpit.low_mm)


def low_setting(bar: BarPlace, chest: Height, armpit: Height) -> LowFit | None:
    """Return the highest setting that is not above the chest; else the lowest of all, if not above the armpit.

    None where even the lowest stands above the armpit: then the person stands too low for this bar.
    """
    fits = [low_fit(bar, setting, chest, armpit) for setting in bar.settings]
    under = [fit for fit in fits if fit.above_chest_mm <= 0 and fit.above_armpit_mm <= 0]
    if under:
        return under[-1]
    return fits[0] if fits[0].above_armpit_mm <= 0 else None


# ---- Room ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Room:
    """What is left between a body and the next thing, in mm; less than 0 is how much is lacking."""

    mm: int
    low_mm: int
    high_mm: int

    @property
    def verdict(self) -> Verdict:
        """Say whether it is enough for the whole interval, for none of it, or for a part of it."""
        if self.low_mm > 0:
            return "clear"
        return "not clear" if self.high_mm <= 0 else "unsure"

    @property
    def is_tight(self) -> bool:
        """Say whether it is clear, and for some bodies of the interval by less than TIGHT_MM."""
        return 0 < self.low_mm < TIGHT_MM


def room(available_mm: int, *taken: Height) -> Room:
    """Return what these lengths leave of what is there; several intervals add up, which is the widest there can be."""
    return Room(
        available_mm - sum(each.mm for each in taken),
        available_mm - sum(each.high_mm for each in taken),
        available_mm - sum(each.low_mm for each in taken),
    )


def hang_room(bar: BarPlace, setting: Setting, reach: Height, toes_mm: int) -> Room:
    """Return what is free between pointed toes and the mat in a hang with straight arms."""
    return room(bar.grip_mm(setting) - bar.mat_mm - toes_mm, reach)


def box_needed(bar: BarPlace, setting: Setting, reach: Height) -> Height | None:
    """Return how high a box on the mat must be to take hold of the bar standing flat; None where none is needed.

    Its `high_mm` is enough whatever the reach is within its interval.
    """
    lacking = room(bar.grip_mm(setting) - bar.mat_mm, reach)
    if lacking.high_mm <= 0:
        return None
    low, taken, high = (max(each, 0) for each in (lacking.low_mm, lacking.mm, lacking.high_mm))
    return Height(taken, low, high, measured=reach.measured)


def legs_room(beside_mm: int | None, leg: Height) -> Room | None:
    """Return what straight legs leave free when they are level, the hip under the bar; None where nothing is known."""
    return None if beside_mm is None else room(beside_mm, leg)


def ceiling_room(bar: BarPlace, setting: Setting, leg: Height) -> Room | None:
    """Return what straight legs leave free below the ceiling when they point up over the bar, the hip joint at its top.

    That is the highest place of a pullover: a hip farther down leaves more. None where the ceiling is not known.
    """
    return None if bar.ceiling_mm is None else room(bar.ceiling_mm - setting.top_mm, leg)


def free_setting(bar: BarPlace, reach: Height, toes_mm: int) -> Setting | None:
    """Return the lowest setting in which the hang is free for the whole interval, or None."""
    return next((each for each in bar.settings if hang_room(bar, each, reach, toes_mm).verdict == "clear"), None)


# ---- A group at one bar ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sharer:
    """Somebody who shares a bar, by a key of the caller's."""

    key: str
    chest: Height
    armpit: Height


@dataclass(frozen=True, slots=True)
class GroupFit:
    """A setting for a group, and how it fits each, in the order of the group."""

    setting: Setting
    fits: tuple[tuple[str, LowFit], ...]

    @property
    def unsuited(self) -> tuple[str, ...]:
        """Whom it does not suit."""
        return tuple(key for key, fit in self.fits if not fit.suits)

    @property
    def off_mm(self) -> int:
        """How far the bar is from the chests, summed over the group."""
        return sum(abs(fit.above_chest_mm) for _, fit in self.fits)


def group_setting(bar: BarPlace, group: Sequence[Sharer]) -> GroupFit:
    """Return the setting that suits most; of several the one nearest to all chests, summed; of these the lowest.

    Whom it does not suit is named with it: nobody is to use a bar above the armpit because it suits the others.
    Raises ValueError for nobody.
    """
    if not group:
        raise ValueError("Nobody shares the bar.")
    tried = (group_fit(bar, setting, group) for setting in bar.settings)
    return min(tried, key=lambda fit: (len(fit.unsuited), fit.off_mm, fit.setting.top_mm))


def group_fit(bar: BarPlace, setting: Setting, group: Sequence[Sharer]) -> GroupFit:
    """Return how a setting fits each of a group."""
    return GroupFit(setting, tuple((each.key, low_fit(bar, setting, each.chest, each.armpit)) for each in group))
