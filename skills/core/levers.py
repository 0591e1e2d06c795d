"""Levers: what a pose asks of the hips, how the body resists being turned, what it takes to lift it over a bar.

Statics of rigid segments in the plane seen from the side, from one table of `skills.core.segments` at a time. Angles
are in degrees: of the thigh from straight down (90 is level), of the knee from straight. A foot's mass is put at the
ankle. What is left out: soft trunks that round, hamstrings that pull, shoulders that rise. Each figure is an estimate.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import asin, cos, degrees, hypot, radians, sin
from typing import Final

from athletes.core import roster
from skills.core.segments import TABLES, WINTER, Segment, Table, Whole

GRAVITY: Final = 9.81  # m/s²
STATURE_M: Final = (float(roster.STATURE_M[0]), float(roster.STATURE_M[1]))
MASS_KG: Final = (float(roster.MASS_KG[0]), float(roster.MASS_KG[1]))
MOST_THIGH_DEGREES: Final = 180
MOST_KNEE_DEGREES: Final = 160  # a knee bends to about 160 when the heel is pressed to the seat; from memory
# The middle of a closed grip lies this far beyond the wrist, as a share of stature: ANSUR II, forearm to centre of
# grip less forearm, 0.046 (men 0.199 - 0.153, women 0.195 - 0.148).
GRIP_BEYOND_WRIST: Final = 0.0465
UNSURE: Final = 0.05  # how far the moment of a leg is off, at least: what the tables differ by with straight legs


class OutsideRange(ValueError):  # noqa: N818 (it reads as what went wrong)
    """A value that no body has; the message is a sentence with the range."""


@dataclass(frozen=True, slots=True)
class Body:
    """A person's stature in metres and mass in kilograms. Raises OutsideRange."""

    stature_m: float
    mass_kg: float

    def __post_init__(self) -> None:
        if not STATURE_M[0] <= self.stature_m <= STATURE_M[1]:
            raise OutsideRange(
                f"A stature is between {STATURE_M[0]:g} m and {STATURE_M[1]:g} m, not {self.stature_m:g} m."
            )
        if not MASS_KG[0] <= self.mass_kg <= MASS_KG[1]:
            raise OutsideRange(f"A mass is between {MASS_KG[0]:g} kg and {MASS_KG[1]:g} kg, not {self.mass_kg:g} kg.")

    @property
    def scale_nm(self) -> float:
        """Mass × gravity × stature: every moment of one table is a share of it."""
        return self.mass_kg * GRAVITY * self.stature_m

    @property
    def scale_kgm2(self) -> float:
        """Mass × stature²: every moment of inertia of one table is a share of it."""
        return self.mass_kg * self.stature_m**2


@dataclass(frozen=True, slots=True)
class Pose:
    """Both legs held: thighs from straight down, knees from straight, in degrees. Raises OutsideRange."""

    thigh_degrees: float
    knee_degrees: float

    def __post_init__(self) -> None:
        for name, value, most in (
            ("thigh", self.thigh_degrees, MOST_THIGH_DEGREES),
            ("knee", self.knee_degrees, MOST_KNEE_DEGREES),
        ):
            if not 0 <= value <= most:
                raise OutsideRange(f"The angle of the {name} is between 0° and {most}°, not {value:g}°.")


STRAIGHT_AND_LEVEL: Final = Pose(90, 0)


# ---- The hip --------------------------------------------------------------------------------------------


def hip_moment_nm(body: Body, pose: Pose, table: Table = WINTER) -> float:
    """The moment of gravity about the hips that both legs make, in N·m, summed over thigh, shank and foot."""
    return _hip_share(pose, table) * body.scale_nm


def hip_moment_row_nm(body: Body, thigh_degrees: float) -> float:
    """The same for straight legs by the single row that Winter prints for a whole leg.

    It lies 1 to 4 % above the sum: the printed rows do not close. Pages use the sum throughout.
    """
    leg = _whole(WINTER).leg
    return 2 * leg.mass * leg.centre * leg.length * sin(radians(thigh_degrees)) * body.scale_nm


def ratio_to_straight(pose: Pose, table: Table = WINTER) -> float:
    """The moment of a pose over that of straight legs held level. The same for every body, so it needs none."""
    return _hip_share(pose, table) / _hip_share(STRAIGHT_AND_LEVEL, table)


def greatest_on_the_way(pose: Pose, table: Table = WINTER) -> tuple[int, float]:
    """The thigh angle (whole degrees) at which lifting the legs into a pose asks most, and the ratio there.

    The knees keep their angle and the thighs rise from straight down.
    """
    way = (Pose(angle, pose.knee_degrees) for angle in range(int(pose.thigh_degrees) + 1))
    most = max(way, key=lambda each: _hip_share(each, table))
    return int(most.thigh_degrees), ratio_to_straight(most, table)


def span_of_ratio(pose: Pose) -> tuple[float, float]:
    """The least and the greatest ratio that the published tables give, each by itself."""
    ratios = [ratio_to_straight(pose, table) for table in TABLES.values()]
    return min(ratios), max(ratios)


def span_of_moment_nm(body: Body, pose: Pose, table: Table = WINTER) -> tuple[float, float]:
    """From where to where the hip moment may lie: ±5 %, and never narrower than the tables differ."""
    moment = hip_moment_nm(body, pose, table)
    others = [hip_moment_nm(body, pose, each) for each in TABLES.values()]
    return min(moment * (1 - UNSURE), *others), max(moment * (1 + UNSURE), *others)


def knee_extension_nm(body: Body, pose: Pose, table: Table = WINTER) -> float:
    """The moment about one knee that shank and foot make, in N·m: what holds the knee as straight as it is."""
    shank = table.shank
    below = shank.mass * shank.centre + table.foot_mass
    return below * shank.length * sin(_shank(pose)) * body.scale_nm


def hip_inertia_kgm2(body: Body, knee_degrees: float, table: Table = WINTER) -> float:
    """The moment of inertia of both legs about the hips, in kg·m²."""
    return 2 * sum(mass * (x * x + y * y) + own for mass, x, y, own in _leg(0, knee_degrees, table)) * body.scale_kgm2


def hip_inertia_row_kgm2(body: Body) -> float:
    """The same for straight legs by Winter's row of the whole leg."""
    leg = _whole(WINTER).leg
    return 2 * leg.mass * (leg.gyration_near * leg.length) ** 2 * body.scale_kgm2


def _hip_share(pose: Pose, table: Table) -> float:
    alpha, thigh, shank = radians(pose.thigh_degrees), table.thigh, table.shank
    beta = _shank(pose)
    knee, ankle = thigh.length * sin(alpha), thigh.length * sin(alpha) + shank.length * sin(beta)
    return 2 * (
        thigh.mass * thigh.centre * thigh.length * sin(alpha)
        + shank.mass * (knee + shank.centre * shank.length * sin(beta))
        + table.foot_mass * ankle
    )


def _shank(pose: Pose) -> float:
    """The angle of the shank from straight down, in radians: a bent knee brings it back under."""
    return radians(pose.thigh_degrees - pose.knee_degrees)


# ---- The whole body -------------------------------------------------------------------------------------

# A mass at a place with what it resists about its own centre: (mass, forward, up, own inertia), as shares of body
# mass, stature and mass × stature²; the hip is at the origin, the trunk points up.
_Part = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Posture:
    """A whole body: hips and knees bent by so much, arms so far from hanging along the trunk, in degrees."""

    name: str
    hip_degrees: float
    knee_degrees: float
    arm_degrees: float


STANDING: Final = Posture("standing, arms down", 0, 0, 0)
LAYOUT: Final = Posture("straight, arms overhead", 0, 0, 180)
PIKE: Final = Posture("pike", 110, 0, 110)
TUCK: Final = Posture("tuck", 120, 120, 45)


def inertia_kgm2(body: Body, posture: Posture) -> float:
    """The moment of inertia about the body's own centre of mass, for turning head over heels, in kg·m².

    By Winter's table, the only one here with lengths of trunk and arms. A rigid trunk makes it 4 to 22 % more than
    was measured on straight bodies, and more than that in a tuck, where a spine rounds.
    """
    parts = _body(posture)
    _, x, y = _centre(parts)
    return _about(parts, x, y) * body.scale_kgm2


def layout_over(posture: Posture) -> float:
    """How many times a straight body, arms overhead, resists turning more than a posture does; of any body."""
    body = Body(1.75, 70)
    return inertia_kgm2(body, LAYOUT) / inertia_kgm2(body, posture)


def standing_centre(*, by_row: bool = False) -> float:
    """The height of the centre of mass, standing with arms down, as a share of stature; legs by sum or as a row."""
    parts = _body(STANDING, by_row=by_row)
    return _whole(WINTER).hip_height + _centre(parts)[2]


@dataclass(frozen=True, slots=True)
class Hang:
    """A body in a hang as a rigid whole: the way from the grip to its centre of mass, and its inertia about the bar."""

    centre_from_grip_m: float
    inertia_kgm2: float


def hang(body: Body, pose: Pose) -> Hang:
    """Straight arms overhead, trunk in line with them, legs in a pose; by Winter's table."""
    parts = _body(Posture("hang", pose.thigh_degrees, pose.knee_degrees, 180))
    grip = _grip_above_hip()
    _, x, y = _centre(parts)
    return Hang(hypot(x, y - grip) * body.stature_m, _about(parts, 0, grip) * body.scale_kgm2)


@dataclass(frozen=True, slots=True)
class Balance:
    """A still hang from a bar that turns freely, arms straight and in line with the trunk, legs in a pose.

    `lean_degrees` is how far arms and trunk lean back; `hip_degrees` the angle between thigh and trunk, from
    straight; `shoulder_nm` what both shoulders hold together; `slack_trunk_degrees` how far the trunk would lean if
    the shoulders held nothing.
    """

    lean_degrees: float
    hip_degrees: float
    shoulder_nm: float
    slack_trunk_degrees: float


def balance(body: Body, pose: Pose) -> Balance:
    """How a still hang balances, by Winter's table: the centre of mass is under the bar."""
    whole = _whole(WINTER)
    legs, forward = 2 * WINTER.leg_mass, _hip_share(pose, WINTER)
    trunk, arm = whole.trunk, whole.arm
    shoulder = arm.length + GRIP_BEYOND_WRIST
    trunk_centre = (1 - trunk.centre) * trunk.length  # from the shoulder down
    arms_centre = shoulder - arm.centre * arm.length
    turned = trunk.mass * (shoulder + trunk_centre) + 2 * arm.mass * arms_centre + legs * (shoulder + trunk.length)
    lean = asin(forward / turned)
    held = (shoulder - 2 * arm.mass * arm.centre * arm.length) * sin(lean)
    slack = asin(forward / (trunk.mass * trunk_centre + legs * trunk.length))
    return Balance(degrees(lean), pose.thigh_degrees + degrees(lean), held * body.scale_nm, degrees(slack))


@dataclass(frozen=True, slots=True)
class Lift:
    """Lifting the centre of mass from a hang into a support: a height in metres and the work, both with their range."""

    rise_m: float
    low_m: float
    high_m: float
    work_j: float
    low_j: float
    high_j: float


def lift_over_bar(body: Body) -> Lift:
    """The least work of getting from a still hang to a still front support, m·g·Δh, by Winter's table.

    Legs straight at both ends, arms overhead in the hang and beside the body in the support. Least: the bar ends at
    the hip joints; most: arms straight, the middle of the grip at the bar, as in the hang; in between: arms straight,
    the wrists level with the bar. Momentum, and muscles that work against each other, come on top.
    """
    whole, centre = _whole(WINTER), standing_centre()
    shoulder = whole.hip_height + whole.trunk.length
    below = hang(body, Pose(0, 0)).centre_from_grip_m
    wrist = shoulder - whole.arm.length
    bars = (whole.hip_height, wrist, wrist - GRIP_BEYOND_WRIST)  # heights on a standing body
    low, rise, high = (below + (centre - bar) * body.stature_m for bar in bars)
    force = body.mass_kg * GRAVITY
    return Lift(rise, low, high, force * rise, force * low, force * high)


def _whole(table: Table) -> Whole:
    if table.whole is None:
        raise ValueError(f"{table.name} has no lengths of trunk and arms here.")
    return table.whole


def _leg(hip_degrees: float, knee_degrees: float, table: Table) -> Iterable[_Part]:
    """One leg from the hip at the origin: thigh forward of straight down by `hip_degrees`."""
    alpha, beta = radians(hip_degrees), radians(hip_degrees - knee_degrees)
    thigh, shank = table.thigh, table.shank
    knee = (thigh.length * sin(alpha), -thigh.length * cos(alpha))
    yield _part(thigh, (0, 0), alpha)
    yield _part(shank, knee, beta)
    yield table.foot_mass, knee[0] + shank.length * sin(beta), knee[1] - shank.length * cos(beta), 0


def _part(segment: Segment, start: tuple[float, float], angle: float) -> _Part:
    reach = segment.centre * segment.length
    own = segment.mass * (segment.gyration * segment.length) ** 2
    return segment.mass, start[0] + reach * sin(angle), start[1] - reach * cos(angle), own


def _body(posture: Posture, *, by_row: bool = False) -> list[_Part]:
    whole = _whole(WINTER)
    leg = [_part(whole.leg, (0, 0), 0)] if by_row else [*_leg(posture.hip_degrees, posture.knee_degrees, WINTER)]
    trunk = _part(whole.trunk, (0, 0), radians(180))
    arm = _part(whole.arm, (0, whole.trunk.length), radians(posture.arm_degrees))
    return [*leg, *leg, trunk, arm, arm]


def _grip_above_hip() -> float:
    whole = _whole(WINTER)
    return whole.trunk.length + whole.arm.length + GRIP_BEYOND_WRIST


def _centre(parts: Iterable[_Part]) -> tuple[float, float, float]:
    """The mass, and where the centre of mass is: forward and up of the hip."""
    parts = [*parts]
    mass = sum(part[0] for part in parts)
    return mass, sum(part[0] * part[1] for part in parts) / mass, sum(part[0] * part[2] for part in parts) / mass


def _about(parts: Iterable[_Part], x: float, y: float) -> float:
    return sum(mass * ((px - x) ** 2 + (py - y) ** 2) + own for mass, px, py, own in parts)
