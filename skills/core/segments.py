"""Tables of body segments: masses, lengths, centres of mass, radii of gyration. One table at a time, never mixed.

The tables differ because their authors cut bodies in different places: Dempster, whom Winter prints, leaves the upper
thigh with the trunk, Zatsiorsky, whom de Leva adjusts, gives it to the thigh. So one leg is 16 % of the body in one
table and 20 % in the other, and its centre of mass lies higher up: a mass of one with a centre of the other is wrong
by a quarter. A `Table` therefore holds all that a calculation needs, and nothing takes parts of two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

_CLOSE: Final = 0.0005  # how far printed shares, rounded to four places, may sum from 1


@dataclass(frozen=True, slots=True)
class Segment:
    """One segment as shares: `mass` of the body's, `length` of the stature, the others of its own length.

    `centre` is the way from the end nearer the trunk to the centre of mass; `gyration` the radius of gyration about
    that centre, for turning in the plane seen from the side; `gyration_near` the same about the nearer end, where the
    table prints it, else 0.
    """

    mass: float
    length: float
    centre: float
    gyration: float
    gyration_near: float = 0.0


@dataclass(frozen=True, slots=True)
class Whole:
    """What the whole body needs besides two legs: rows of one table. `leg` is one straight leg as a single row.

    `trunk` is trunk, head and neck together, from the hip up; `arm` runs from shoulder to wrist, the hand's mass in it.
    """

    leg: Segment
    trunk: Segment
    arm: Segment
    hip_height: float


@dataclass(frozen=True, slots=True)
class Table:
    """A published table. `masses` are shares of the body's mass by segment, each with how many there are.

    `foot_mass` is put at the ankle. `whole` is None where lengths of the trunk and the arms were not at hand: figures
    of the whole body are then not worked out from this table. `unsure` says what of it was not confirmed. Raises
    ValueError for masses that do not make a body.
    """

    key: str
    name: str
    source: str
    masses: Mapping[str, tuple[float, int]]
    thigh: Segment
    shank: Segment
    foot_mass: float
    whole: Whole | None = None
    unsure: str = ""

    def __post_init__(self) -> None:
        total = sum(share * count for share, count in self.masses.values())
        if abs(total - 1) > _CLOSE:
            raise ValueError(f"The segments of {self.name} make {total:.4f} of a body, not 1.")

    @property
    def told(self) -> str:
        """Its name, with what of it was not confirmed."""
        return f"{self.name}; {self.unsure}" if self.unsure else self.name

    @property
    def leg_mass(self) -> float:
        """The mass of one leg as a share of the body's."""
        return self.thigh.mass + self.shank.mass + self.foot_mass

    @property
    def leg_length(self) -> float:
        """Hip to ankle as a share of the stature."""
        return self.thigh.length + self.shank.length


# Winter 2009, table 4.1, as transcribed in two public places; lengths from figure 4.1, after Drillis and Contini 1966.
# Thigh: hip height 0.530 less knee height 0.285. Shank: knee height less ankle height 0.039.
WINTER: Final = Table(
    key="winter",
    name="Winter 2009",
    source="winter-2009",
    masses={
        "head and neck": (0.081, 1),
        "trunk": (0.497, 1),
        "upper arm": (0.028, 2),
        "forearm": (0.016, 2),
        "hand": (0.006, 2),
        "thigh": (0.100, 2),
        "shank": (0.0465, 2),
        "foot": (0.0145, 2),
    },
    thigh=Segment(0.100, 0.245, 0.433, 0.323, 0.540),
    shank=Segment(0.0465, 0.246, 0.433, 0.302, 0.528),
    foot_mass=0.0145,
    whole=Whole(
        leg=Segment(0.161, 0.491, 0.447, 0.326, 0.560),
        trunk=Segment(0.578, 0.288, 0.660, 0.503, 0.830),
        arm=Segment(0.050, 0.332, 0.530, 0.368, 0.645),
        hip_height=0.530,
    ),
)

# De Leva 1996, table 4, as transcribed in two public places and more; transverse radii of gyration. Lengths are those
# of the people measured, over their stature: men 422.2 and 434.0 mm of 1741 mm, women 368.5 and 432.3 mm of 1735 mm.
# The women's are from memory and not confirmed.
DE_LEVA_MEN: Final = Table(
    key="de-leva-men",
    name="de Leva 1996, men",
    source="de-leva-1996",
    masses={
        "head": (0.0694, 1),
        "trunk": (0.4346, 1),
        "upper arm": (0.0271, 2),
        "forearm": (0.0162, 2),
        "hand": (0.0061, 2),
        "thigh": (0.1416, 2),
        "shank": (0.0433, 2),
        "foot": (0.0137, 2),
    },
    thigh=Segment(0.1416, 0.4222 / 1.741, 0.4095, 0.329),
    shank=Segment(0.0433, 0.4340 / 1.741, 0.4459, 0.249),
    foot_mass=0.0137,
)
DE_LEVA_WOMEN: Final = Table(
    key="de-leva-women",
    name="de Leva 1996, women",
    source="de-leva-1996",
    masses={
        "head": (0.0668, 1),
        "trunk": (0.4257, 1),
        "upper arm": (0.0255, 2),
        "forearm": (0.0138, 2),
        "hand": (0.0056, 2),
        "thigh": (0.1478, 2),
        "shank": (0.0481, 2),
        "foot": (0.0129, 2),
    },
    thigh=Segment(0.1478, 0.3685 / 1.735, 0.3612, 0.364),
    shank=Segment(0.0481, 0.4323 / 1.735, 0.4416, 0.267),
    foot_mass=0.0129,
    unsure="lengths of thigh and shank are from memory and not confirmed",
)

TABLES: Final = {table.key: table for table in (WINTER, DE_LEVA_MEN, DE_LEVA_WOMEN)}
