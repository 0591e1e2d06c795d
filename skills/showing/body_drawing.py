"""A body drawn to scale on the bar or on its hands, with the angles of its legs: SVG from the server, no script.

Lengths of segments are shares of stature (Drillis and Contini 1966), so that the drawing is one of any body. Colours
come from css/figures.css; without it, as on paper, everything is drawn in the colour of the text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, radians, sin
from typing import Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from skills.core.levers import GRIP_BEYOND_WRIST, Body, Pose, balance
from skills.core.segments import WINTER

Point = tuple[float, float]

_SCALE: Final = 460  # SVG user units for one stature
_MARGIN: Final = 26
_ARM, _TRUNK, _HEAD = 0.332, 0.288, 0.130
_FOOT: Final = 0.130  # pointed toes beyond the ankle: Scientific Reports 2024, s41598-024-70698-8, table 1
_ASIDE: Final = 0.4  # from here on words stand beside their mark, not below or above it
_ANY_BODY: Final = Body(1.75, 70)  # how a hang leans is the same for all
_BROAD: Final = {"arm": 0.042, "trunk": 0.105, "thigh": 0.078, "shank": 0.052, "foot": 0.034}


@dataclass(frozen=True, slots=True)
class _Line:
    kind: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class _Scene:
    """What is drawn: a pose about a hip, what it shows in words, and the body with what it holds on to."""

    pose: Pose
    hip: Point
    what: str
    marks: SafeString


def body_on_bar(pose: Pose, *, name: str, title: str) -> SafeString:
    """Draw a still hang from a bar in balance: arms and trunk in line, legs in the pose.

    `name` is the drawing's id on its page. Where the knees are bent, straight legs held level stand beside, dashed.
    """
    lean = radians(balance(_ANY_BODY, pose).lean_degrees)
    up = (sin(lean), -cos(lean))  # from the hip to the bar
    reach = _ARM + GRIP_BEYOND_WRIST
    hip = _on((0, 0), up, -(reach + _TRUNK))
    shoulder = _on(hip, up, _TRUNK)
    head = _on(shoulder, up, _HEAD)
    lines = [_Line("trunk", hip, shoulder), *_legs(hip, pose), _Line("arm", shoulder, (0, 0))]
    what = f"A body hangs from a bar, arms and trunk leaning back {degrees(lean):.0f}°, {pose_words(pose)}."
    return _svg(_Scene(pose, hip, what, _figure(lines, head) + _bar()), name, title)


def body_in_support(pose: Pose, *, name: str, title: str) -> SafeString:
    """Draw a support on straight arms, trunk upright, legs in the pose."""
    hip = (0.0, _TRUNK - _ARM - GRIP_BEYOND_WRIST)
    shoulder, head = (hip[0], hip[1] - _TRUNK), (hip[0], hip[1] - _TRUNK - _HEAD * 1.15)
    lines = [
        _Line("trunk", hip, shoulder),
        *_legs(hip, pose),
        _Line("arm", shoulder, (shoulder[0], -_BROAD["arm"] / 2)),
    ]
    what = f"A body in a support on straight arms, trunk upright, {pose_words(pose)}."
    return _svg(_Scene(pose, hip, what, _floor() + _figure(lines, head)), name, title)


def pose_words(pose: Pose) -> str:
    """Say a pose: thighs from straight down, and how far the knees are bent."""
    knees = "knees straight" if pose.knee_degrees == 0 else f"knees bent by {pose.knee_degrees:g}°"
    return f"thighs {pose.thigh_degrees:g}° from straight down, {knees}"


# ---- Points, in statures: x forward, y down ------------------------------------------------------------------


def _on(start: Point, way: Point, length: float) -> Point:
    return start[0] + way[0] * length, start[1] + way[1] * length


def _legs(hip: Point, pose: Pose) -> list[_Line]:
    knee, ankle, toe = _joints(hip, pose)
    return [_Line("thigh", hip, knee), _Line("shank", knee, ankle), _Line("foot", ankle, toe)]


def _joints(hip: Point, pose: Pose) -> tuple[Point, Point, Point]:
    thigh, shank = (_down(pose.thigh_degrees), _down(pose.thigh_degrees - pose.knee_degrees))
    knee = _on(hip, thigh, WINTER.thigh.length)
    ankle = _on(knee, shank, WINTER.shank.length)
    return knee, ankle, _on(ankle, shank, _FOOT)


def _down(angle: float) -> Point:
    """The way that lies so many degrees forward of straight down."""
    return sin(radians(angle)), cos(radians(angle))


# ---- Marks ---------------------------------------------------------------------------------------------------


def _u(value: float) -> str:
    return f"{value * _SCALE:.1f}"


def _figure(lines: Sequence[_Line], head: Point) -> SafeString:
    bones = format_html_join("", "{}", ((_bone(line),) for line in lines))
    joints = format_html_join(
        "",
        '<circle class="joint" cx="{}" cy="{}" r="5" fill="none"/>',
        ((_u(line.start[0]), _u(line.start[1])) for line in lines),
    )
    round_head = format_html('<circle class="bone-head" cx="{}" cy="{}" r="{}"/>', _u(head[0]), _u(head[1]), _u(0.058))
    return SafeString(round_head + bones + joints)


def _bone(line: _Line) -> SafeString:
    """A segment; the arm has an edge, since it lies over trunk and head."""
    ends = [*map(_u, (*line.start, *line.end))]
    kinds = [("edge", 0.014)] if line.kind == "arm" else []
    return format_html_join(
        "",
        '<line class="bone {}" x1="{}" y1="{}" x2="{}" y2="{}" stroke-width="{}"/>',
        ((kind, *ends, _u(_BROAD[line.kind] + more)) for kind, more in (*kinds, (line.kind, 0.0))),
    )


def _bar() -> SafeString:
    return SafeString('<circle class="bar-end" cx="0" cy="0" r="7"/>')


def _floor() -> SafeString:
    return format_html('<line class="floor-line" x1="{}" y1="0" x2="{}" y2="0"/>', _u(-0.16), _u(0.7))


def _plumb(hip: Point) -> SafeString:
    """Straight down from the hip: thighs are measured from it."""
    place = (*hip, hip[0], hip[1] + 0.2)
    return format_html('<line class="plumb" x1="{}" y1="{}" x2="{}" y2="{}"/>', *map(_u, place))


def _ghost(hip: Point) -> SafeString:
    level = (*hip, hip[0] + WINTER.leg_length + _FOOT, hip[1])
    return format_html('<line class="ghost" x1="{}" y1="{}" x2="{}" y2="{}"/>', *map(_u, level))


def _arc(at: Point, radius: float, first: float, last: float) -> SafeString:
    """An arc between two angles, in degrees forward of straight down, with both its ends."""
    if abs(last - first) < 1:
        return SafeString("")
    start, end = _on(at, _down(first), radius), _on(at, _down(last), radius)
    return format_html(
        '<path class="arc" d="M{} {}A{} {} 0 0 {} {} {}"/>',
        *map(_u, (*start, radius, radius)),
        "0" if last > first else "1",
        *map(_u, end),
    )


def _label(at: Point, angle: float, radius: float, words: str) -> SafeString:
    place = _on(at, _down(angle), radius)
    aside = sin(radians(angle))
    anchor = "start" if aside > _ASIDE else "end" if aside < -_ASIDE else "middle"
    return format_html(
        '<text class="angle" x="{}" y="{}" text-anchor="{}">{}</text>',
        _u(place[0]),
        f"{place[1] * _SCALE + 6:.1f}",
        anchor,
        words,
    )


def _angles(hip: Point, pose: Pose) -> SafeString:
    """The angle of the thighs from straight down, and that of the knees from straight, each with its arc."""
    knee, _, _ = _joints(hip, pose)
    thigh, shank = pose.thigh_degrees, pose.thigh_degrees - pose.knee_degrees
    marks = _arc(hip, 0.13, 0, thigh) + _label(hip, thigh / 4, 0.16, f"{thigh:g}°")
    if pose.knee_degrees:
        beyond = _on(knee, _down(thigh), 0.16)
        marks += format_html('<line class="plumb" x1="{}" y1="{}" x2="{}" y2="{}"/>', *map(_u, (*knee, *beyond)))
        marks += _arc(knee, 0.1, thigh, shank) + _label(knee, (thigh + shank) / 2, 0.12, f"{pose.knee_degrees:g}°")
    return SafeString(marks)


def _svg(scene: _Scene, name: str, title: str) -> SafeString:
    pose, hip = scene.pose, scene.hip
    ghost = _ghost(hip) if pose.knee_degrees else SafeString("")
    compared = " Straight legs held level stand beside it, dashed." if pose.knee_degrees else ""
    left, top, width, height = _box(hip, pose)
    return format_html(
        '<svg class="body-drawing" id="{0}" viewBox="{1} {2} {3} {4}" width="{3}" height="{4}" role="img" '
        'aria-labelledby="{0}-title {0}-desc" fill="none" stroke="currentColor" stroke-width="2" '
        'stroke-linecap="round"><title id="{0}-title">{5}</title><desc id="{0}-desc">{6}</desc>{7}{8}{9}{10}</svg>',
        name,
        *(f"{value:.0f}" for value in (left, top, width, height)),
        title,
        f"{scene.what}{compared} Lengths of segments are to scale.",
        ghost,
        _plumb(hip),
        scene.marks,
        _angles(hip, pose),
    )


def _box(hip: Point, pose: Pose) -> tuple[float, float, float, float]:
    """The view: everything drawn, straight legs included, whose place other poses are compared with."""
    knee, ankle, toe = _joints(hip, pose)
    level = (hip[0] + WINTER.leg_length + _FOOT, hip[1])
    points: Sequence[Point] = (
        hip,
        knee,
        ankle,
        toe,
        level,
        (0, 0),
        (hip[0] - 0.1, hip[1] + 0.25),
        (0, hip[1] - _TRUNK - 0.2),
    )
    xs, ys = [x * _SCALE for x, _ in points], [y * _SCALE for _, y in points]
    left, top = min(xs) - _MARGIN, min(ys) - _MARGIN
    return left, top, max(xs) - left + _MARGIN, max(ys) - top + _MARGIN
