"""What a bar leaves free around a body that hangs on it, told; and what nobody has measured, asked for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from skills.core.body_heights import Height, leg_of, reach_of, toes_mm
from skills.core.figures import Figure
from skills.core.set_up import TIGHT_MM, BarPlace, Room, Setting, box_needed, ceiling_room, hang_room, legs_room
from skills.showing.bodies import LEG_FORMULA, LEG_SOURCES, OF_ADULTS, TOES_FORMULA, Told, leg_inputs, reach_told

_MEASURE: Final = "measure it and enter it at the bar; until then it is not taken as free."
_ASK: Final = "it is not taken as free. Ask a coach."
_TO_KNOW: Final = {
    "front_mm": "Nobody has measured how far it is to the next bar or wall in front",
    "behind_mm": "Nobody has measured how far it is to the next bar or wall behind",
    "ceiling_mm": "Nobody has measured what is above, the ceiling or a higher bar",
}


def room_asks(bar: BarPlace, *, over: bool, staff: bool = True) -> tuple[str, ...]:
    """Return what of the surroundings nobody has measured; what is above matters where legs go over the bar.

    Staff measure it, others ask a coach.
    """
    asked = ("front_mm", "behind_mm", "ceiling_mm") if over else ("front_mm", "behind_mm")
    then = _MEASURE if staff else _ASK
    return tuple(f"{_TO_KNOW[field]}: {then}" for field in asked if getattr(bar, field) is None)


def leg_rooms(bar: BarPlace, setting: Setting, told: Told, *, over: bool) -> Iterator[Figure]:
    """Yield whether straight legs swing clear in front and behind and, where they go over the bar, of what is above."""
    leg = leg_of(told.body)
    if leg is None:
        return
    for label, where, beside_mm in (
        ("Straight legs in front", "Bar to the next bar or wall in front", bar.front_mm),
        ("Straight legs behind", "Bar to the next bar or wall behind", bar.behind_mm),
    ):
        room = legs_room(beside_mm, leg)
        if room and beside_mm is not None:
            yield _room(told, label, room, ((where, beside_mm),), _LEVEL)
    above = ceiling_room(bar, setting, leg)
    if over and above and bar.ceiling_mm is not None:
        tops = (("Floor to what is above", bar.ceiling_mm), ("Top of the bar", setting.top_mm))
        yield _room(told, "Straight legs over the bar", above, tops, _OVER)


_LEVEL: Final = "The legs are level and the hip is right under the bar"
_OVER: Final = "The legs point up over the bar in a pullover and the hip is at its top, which is the highest there is"


def _room(told: Told, label: str, room: Room, inputs: tuple[tuple[str, int], ...], pose: str) -> Figure:
    return Figure(
        label=label,
        value=told.lengths.room(room),
        kind="estimate",
        interval=told.lengths.room_within(room),
        inputs=(*((name, told.lengths.exact(mm)) for name, mm in inputs), *leg_inputs(told)),
        formula=f"{pose}; {LEG_FORMULA}.",
        sources=(*LEG_SOURCES, "ours"),
        caution=" ".join(words for words in (_little_room(told, room), _caution(told)) if words),
    )


def _little_room(told: Told, room: Room) -> str:
    """Return what to say of legs that are clear by little: bodies in a swing reach farther than at rest."""
    if not room.is_tight:
        return ""
    return f"Little room: it may be less than {told.lengths.about(TIGHT_MM)}, and a swing goes farther."


def hang_figures(bar: BarPlace, setting: Setting, told: Told) -> Iterator[Figure]:
    """Yield whether a hang is free of the mat, and how high a box is needed to get hold of the bar."""
    reach, toes = reach_of(told.body), toes_mm(told.body)
    if reach is None:
        return
    if toes is not None:
        yield _hang(told, bar, setting, hang_room(bar, setting, reach, toes))
    yield _box(told, bar, setting, reach)


def _hang(told: Told, bar: BarPlace, setting: Setting, room: Room) -> Figure:
    reach = reach_told(told)
    measured = reach is not None and reach.kind == "measured"
    return Figure(
        label="Hang with straight arms",
        value=_off_the_mat(told, room),
        kind="estimate",
        interval=told.lengths.room_within(room)
        if not measured
        else f"{told.lengths.room(room)}; the toes are estimated",
        inputs=(*_bar_inputs(told, bar, setting), *_reach_input(told)),
        formula=f"Middle of the bar less mat, reach and toes; {TOES_FORMULA}.",
        sources=(*(reach.sources if reach else ()), "pommel-2024"),
        caution=_caution(told) if not measured else "",
    )


def _off_the_mat(told: Told, room: Room) -> str:
    if room.verdict == "unsure":
        return "toes may touch the mat"
    if room.verdict == "clear":
        return f"free of the mat by {told.lengths.about(room.mm)}"
    return f"not free: toes meet the mat, {told.lengths.about(-room.mm)} too low"


def _box(told: Told, bar: BarPlace, setting: Setting, reach: Height) -> Figure:
    box = box_needed(bar, setting, reach)
    return Figure(
        label="Box to get hold of it",
        value="none: within reach" if box is None else told.lengths.about(box.mm),
        kind="measured" if reach.measured else "estimate",
        interval="" if reach.measured else _box_within(told, box, reach),
        inputs=(*_bar_inputs(told, bar, setting), *_reach_input(told)),
        formula=_OF_BOX,
        sources=tuple(dict.fromkeys((*_reach_sources(told), "ours"))),
        caution=_caution(told) if not reach.measured else "",
    )


_OF_BOX: Final = "Middle of the bar less mat and reach, standing flat. A box stands on the mat and cannot slide or tip."


def _box_within(told: Told, box: Height | None, reach: Height) -> str:
    if box is None:
        return f"reach {told.lengths.within(reach)}"
    least = "none" if box.low_mm == 0 else told.lengths.about(box.low_mm)
    return f"{least} to {told.lengths.about(box.high_mm)}, which is enough in 95 of 100 cases"


def _reach_sources(told: Told) -> tuple[str, ...]:
    reach = reach_told(told)
    return reach.sources if reach else ()


def _reach_input(told: Told) -> tuple[tuple[str, str], ...]:
    reach = reach_told(told)
    return ((reach.label, f"{reach.value}, {reach.kind}"),) if reach else ()


def _bar_inputs(told: Told, bar: BarPlace, setting: Setting) -> tuple[tuple[str, str], ...]:
    return (
        ("Top of the bar", told.lengths.exact(setting.top_mm)),
        ("Diameter", told.lengths.small(bar.diameter_tenths_mm)),
        ("Mat", told.lengths.exact(bar.mat_mm) if bar.mat_mm else "none"),
    )


def _caution(told: Told) -> str:
    return OF_ADULTS if told.minor else ""
