"""The figures of a step's levers: each a value in words with its inputs, formula, sources and interval."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from skills.core.figures import Figure
from skills.core.levers import (
    LAYOUT,
    STRAIGHT_AND_LEVEL,
    TUCK,
    UNSURE,
    Body,
    Pose,
    balance,
    greatest_on_the_way,
    hip_moment_nm,
    inertia_kgm2,
    knee_extension_nm,
    lift_over_bar,
    ratio_to_straight,
    span_of_moment_nm,
    span_of_ratio,
)
from skills.core.segments import WINTER, Table
from skills.showing.body_drawing import pose_words

_ANY_BODY: Final = Body(1.75, 70)  # for what is the same for every body
_ADULTS: Final = "The tables are of adult bodies."
_MEASURED_OVER: Final = 1.22  # how far a rigid straight body lies above measured ones at most: Winter against Tözeren
_MEASURED_RATIO: Final = (3.6, 4.3)  # straight over compact, three men: Tözeren 2000
_NOTICED: Final = 0.01  # a way that asks so much more than the pose is worth a figure


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose body it is: `body` where stature and mass are known and may be shown, `inputs` the values in words.

    `asks` are sentences that ask for what is missing.
    """

    stature_m: float | None
    body: Body | None
    inputs: tuple[tuple[str, str], ...]
    asks: tuple[str, ...]
    adult: bool

    @property
    def stature(self) -> tuple[tuple[str, str], ...]:
        """The stature alone of the inputs."""
        return tuple(pair for pair in self.inputs if pair[0] == "Stature")

    @property
    def caution(self) -> str:
        """What is said of figures from tables of adults, for who may not be one."""
        return "" if self.adult else _ADULTS


NOBODY: Final = Whose(None, None, (), (), adult=True)


# ---- A pose that is held ------------------------------------------------------------------------------------


def pose_figures(pose: Pose, table: Table, whose: Whose, *, hanging: bool) -> Iterator[Figure]:
    """Yield what a pose asks: of the hips, of a straight knee, and in a hang of the shoulders."""
    yield _ratio(pose, table, whose)
    yield from _way(pose, table, whose)
    if whose.body is not None:
        yield _moment(whose.body, pose, table, whose)
        if pose.knee_degrees == 0:
            yield _knee(whose.body, pose, table, whose)
    if hanging:
        yield from _hang_figures(pose, whose)


def _ratio(pose: Pose, table: Table, whose: Whose) -> Figure:
    compared = pose == STRAIGHT_AND_LEVEL
    return Figure(
        label="At the hips this pose asks",
        value=f"{_percent(ratio_to_straight(pose, table))} of straight legs held level",
        kind="count" if compared else "estimate",
        inputs=(("Pose", pose_words(pose)), ("Table", table.told)),
        formula="The moment of gravity about the hips, summed over thighs, shanks and feet, over the same with "
        "straight legs held level. Stature and mass cancel, so it is the same for every body.",
        sources=(table.source,),
        interval="" if compared else _by_tables(pose),
        caution=whose.caution,
    )


def _by_tables(pose: Pose) -> str:
    low, high = map(_percent, span_of_ratio(pose))
    return "by every table" if low == high else f"{low[:-2]} to {high}: what the three tables give"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _way(pose: Pose, table: Table, whose: Whose) -> Iterator[Figure]:
    at, most = greatest_on_the_way(pose, table)
    if most < ratio_to_straight(pose, table) + _NOTICED:
        return
    yield Figure(
        label="The most that lifting the legs there asks",
        value=f"{_percent(most)}, with the thighs at {at}°",
        kind="estimate",
        inputs=(("Pose", pose_words(pose)), ("Table", table.told)),
        formula="The greatest of the same figure while the thighs rise from straight down with the knees as they are.",
        sources=(table.source,),
        interval=_by_tables(Pose(at, pose.knee_degrees)),
        caution="Not in the figure: legs held high near the bar also stretch the backs of the legs and shorten the "
        f"muscles that lift them. {whose.caution}".strip(),
    )


def _moment(body: Body, pose: Pose, table: Table, whose: Whose) -> Figure:
    low, high = span_of_moment_nm(body, pose, table)
    return Figure(
        label="Moment at the hips, both legs",
        value=f"{hip_moment_nm(body, pose, table):.0f} N·m",
        kind="estimate",
        inputs=(*whose.inputs, ("Pose", pose_words(pose)), ("Table", table.told)),
        formula="Gravity (9.81 m/s²) × the mass of thigh, shank and foot × how far each centre of mass lies in front "
        "of the hip, summed over both legs; the foot's mass at the ankle.",
        sources=(table.source,),
        interval=f"{low:.0f} to {high:.0f} N·m: ±{_percent(UNSURE)}, or as far as the three tables differ",
    )


def _knee(body: Body, pose: Pose, table: Table, whose: Whose) -> Figure:
    moment = abs(knee_extension_nm(body, pose, table))
    return Figure(
        label="To keep one knee straight",
        value=f"{moment:.1f} N·m",
        kind="estimate",
        inputs=(*whose.inputs, ("Pose", pose_words(pose)), ("Table", table.told)),
        formula="Gravity × the mass of shank and foot × how far each lies in front of the knee. The pull of the backs "
        "of the legs comes on top.",
        sources=(table.source,),
        interval=f"{moment * (1 - UNSURE):.1f} to {moment * (1 + UNSURE):.1f} N·m: ±{_percent(UNSURE)}",
    )


def _hang_figures(pose: Pose, whose: Whose) -> Iterator[Figure]:
    found = balance(whose.body or _ANY_BODY, pose)
    less, more = found.lean_degrees * (1 - UNSURE), found.lean_degrees * (1 + UNSURE)
    pairs = (("Pose", pose_words(pose)), ("Table", WINTER.name))
    how = "A still hang on straight arms has its centre of mass under the bar, with arms and trunk in one line"
    yield Figure(
        label="Arms and trunk lean back in balance",
        value=f"{found.lean_degrees:.0f}°",
        kind="estimate",
        inputs=pairs,
        formula=f"{how}. It is the same for every body.",
        sources=(WINTER.source, "ours"),
        interval=f"{less:.1f} to {more:.1f}°: ±{_percent(UNSURE)}",
        caution=f"With shoulders that hold nothing the trunk would lean {found.slack_trunk_degrees:.0f}°; more than "
        "about 10° to be seen means that they have given way.",
    )
    if whose.body is not None:
        low, high = found.shoulder_nm * (1 - UNSURE), found.shoulder_nm * (1 + UNSURE)
        yield Figure(
            label="What both shoulders hold together",
            value=f"{found.shoulder_nm:.0f} N·m",
            kind="estimate",
            inputs=(*whose.inputs, *pairs),
            formula=f"{how}; the moment of everything below the shoulders about them.",
            sources=(WINTER.source, "ours"),
            interval=f"{low:.0f} to {high:.0f} N·m: ±{_percent(UNSURE)}",
        )


# ---- Turning, and getting over --------------------------------------------------------------------------------


def turning_figures(whose: Whose) -> Iterator[Figure]:
    """Yield how a tuck turns against a straight body."""
    yield _tuck_ratio(whose)
    if whose.body is not None:
        yield from _inertias(whose.body, whose)


def _tuck_ratio(whose: Whose) -> Figure:
    return Figure(
        label="How much less a tuck resists being turned",
        value="3 to 4 times less than a straight body",
        kind="estimate",
        inputs=(
            ("Straight", "arms overhead"),
            ("Tuck", f"hips and knees bent by {TUCK.hip_degrees:g}°"),
            ("Table", WINTER.name),
        ),
        formula="The moment of inertia about the body's own centre of mass, straight over tucked. Turned with the same "
        "push, a tuck turns as many times faster.",
        sources=("tozeren-2000", WINTER.source),
        interval=f"2.6 to {_MEASURED_RATIO[1]}: 2.6 to 3.0 with Winter's rigid trunk, {_MEASURED_RATIO[0]} to "
        f"{_MEASURED_RATIO[1]} as measured on three men, whose backs round",
        caution=whose.caution,
    )


def _inertias(body: Body, whose: Whose) -> Iterator[Figure]:
    straight, tucked = inertia_kgm2(body, LAYOUT), inertia_kgm2(body, TUCK)
    low = straight / _MEASURED_OVER
    how = "Each segment's mass × the square of its distance from the centre of mass, and its own inertia, summed"
    for label, value, least, most in (
        ("Moment of inertia, straight, arms overhead", straight, low, straight),
        ("Moment of inertia, tucked", tucked, low / _MEASURED_RATIO[1], tucked),
    ):
        yield Figure(
            label=label,
            value=f"{value:.1f} kg·m²",
            kind="estimate",
            inputs=(*whose.inputs, ("Table", WINTER.name)),
            formula=f"{how}; for turning head over heels, with a rigid trunk.",
            sources=(WINTER.source, "tozeren-2000"),
            interval=f"{least:.1f} to {most:.1f} kg·m²: measured bodies lie below a rigid one",
        )


def lifting_figures(stature_m: float, whose: Whose) -> Iterator[Figure]:
    """Yield how far the centre of mass rises over the bar, and the work where the mass is known."""
    found = lift_over_bar(whose.body or Body(stature_m, _ANY_BODY.mass_kg))
    ends = "from a bar that ends at the hip joints to one held at straight arms"
    where = "From a still hang to a still support: legs straight at both ends, arms overhead and then beside the body"
    yield Figure(
        label="The centre of mass rises by",
        value=f"{found.rise_m:.2f} m",
        kind="estimate",
        inputs=(*whose.stature, ("Table", WINTER.name)),
        formula=f"{where}.",
        sources=(WINTER.source, "ours"),
        interval=f"{found.low_m:.2f} to {found.high_m:.2f} m: {ends}",
        caution=whose.caution,
    )
    if whose.body is not None:
        yield Figure(
            label="The least work of getting there",
            value=f"{_tens(found.work_j)} J",
            kind="estimate",
            inputs=(*whose.inputs, ("Table", WINTER.name)),
            formula=f"Mass × gravity (9.81 m/s²) × the rise. {where}. A swing, or muscles that work against each "
            "other, cost more.",
            sources=(WINTER.source, "ours"),
            interval=f"{_tens(found.low_j)} to {_tens(found.high_j)} J: {ends}",
        )


def _tens(value: float) -> str:
    return f"{round(value, -1):.0f}"
