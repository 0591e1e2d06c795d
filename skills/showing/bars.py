"""Where the gym's bars are set for a body at a step, and what room they leave, told with their sources."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from athletes.queries.bodies import body_notes_of
from skills.core.body_heights import Height, armpit_of, chest_of, reach_of, toes_mm
from skills.core.figures import Figure
from skills.core.set_up import BarPlace, LowFit, Setting, free_setting, low_fit, low_setting
from skills.models import Bar, Step
from skills.queries.bars import bars_of, checks_on_day, place_of, standing_checks, stands_for
from skills.queries.books import StepPage, book_of
from skills.showing.bodies import Told, armpit_told, chest_told, reach_told, tell_body
from skills.showing.lengths import AMONG
from skills.showing.rooms import hang_figures, leg_rooms, room_asks

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.models import BarCheck

RE_SET: Final = (
    "Each time the bar is set anew a coach checks it again before anybody uses it: tied at both hooks, no load on it, "
    "the rig anchored, nothing above or behind within reach, the mat in place."
)
CAUTIONS: Final = (
    "The maker’s instructions and local codes come first: which holes may be used, with which load, on which floor.",
    "Keep room to get down: the mat lies where feet land, and nobody stands, waits or walks there.",
    "A low bar beneath a higher one: head and legs meet the upper bar. Enter its height as what is above.",
    "These figures are of a body at rest; a swing goes farther. A coach looks, and decides.",
)
_NO_BARS: Final = "The list has no {} bar: describe the gym’s bars first."


@dataclass(frozen=True, slots=True)
class BarShown:
    """One bar for this body: how to set it, what that leaves free, and what nobody has measured.

    `hole` is the one to set it into, None for a bar at one height. `unfit` says why the bar is not for this body, ""
    where it is. For staff `checked` tells today's last check, `asks_check` whether it is to be checked as set here.
    """

    bar_id: UUID
    name: str
    says: str
    unfit: str
    figures: tuple[Figure, ...]
    asks: tuple[str, ...]
    hole: int | None
    checked: str = ""
    asks_check: bool = False


@dataclass(frozen=True, slots=True)
class BarsPanel:
    """Where the bars are set for an athlete at a step; `place` is "low", "high", or "" for a step on no bar.

    `body` are the heights that they are set by; `asks` says what of the body, or of the list, is lacking.
    """

    athlete_id: UUID
    step_code: str
    place: str
    asks: tuple[str, ...]
    body: tuple[Figure, ...]
    bars: tuple[BarShown, ...]
    re_set: str
    cautions: tuple[str, ...]
    for_staff: bool


def bars_panel(*, athlete: Athlete, step: StepPage | Step, viewer_is_staff: bool, now: datetime) -> BarsPanel:
    """Return how the bars in use are set for an athlete: three queries beside the book, none for a step on no bar."""
    place = _PLACES.get(step.station, "")
    if not place:
        return BarsPanel(athlete.id, step.code, "", (), (), (), "", (), viewer_is_staff)
    told = tell_body(athlete, body_notes_of(athlete), now)
    over = book_of(athlete.gym).rules.steps[step.code].inverted
    bars = [bar for bar in bars_of(athlete.gym) if stands_for(bar, place)]
    if place == "low":
        checks = {check.of_id: check for check in standing_checks(checks_on_day(athlete.gym, now))}
        shown = [low_bar(bar, told, over=over, staff=viewer_is_staff) for bar in bars]
        if viewer_is_staff:
            shown = [_with_check(each, checks.get(each.bar_id), athlete.gym.zone) for each in shown]
        body = (chest_told(told), armpit_told(told))
    else:
        shown, body = [high_bar(bar, told, over=over, staff=viewer_is_staff) for bar in bars], (reach_told(told), None)
    return BarsPanel(
        athlete_id=athlete.id,
        step_code=step.code,
        place=place,
        asks=(*told.asks, *((_NO_BARS.format(place),) if viewer_is_staff and not bars else ())),
        body=tuple(figure for figure in body if figure),
        bars=tuple(shown),
        re_set=RE_SET if place == "low" else "",
        cautions=CAUTIONS,
        for_staff=viewer_is_staff,
    )


_PLACES: Final[Mapping[str, str]] = {Step.Station.LOW_BAR: "low", Step.Station.HIGH_BAR: "high"}


# ---- A low bar -----------------------------------------------------------------------------------------------------


def low_bar(bar: Bar, told: Told, *, over: bool, staff: bool = True) -> BarShown:
    """Tell how a low bar is set for a body; without queries."""
    place, chest, armpit = place_of(bar), chest_of(told.body), armpit_of(told.body)
    asks = room_asks(place, over=over, staff=staff)
    if chest is None or armpit is None:
        return BarShown(bar.id, bar.name, "", "", (), asks, None)
    fit = low_setting(place, chest, armpit)
    if fit is None:
        lowest = low_fit(place, place.settings[0], chest, armpit)
        return BarShown(bar.id, bar.name, "", _too_high(told, lowest), (), asks, None)
    return BarShown(
        bar_id=bar.id,
        name=bar.name,
        says=_next_up(place, fit, chest, armpit, told),
        unfit="" if fit.suits else _too_low(told, fit),
        figures=(_setting_figure(place, fit, chest, armpit, told), *leg_rooms(place, fit.setting, told, over=over)),
        asks=asks,
        hole=fit.setting.hole,
    )


def _too_high(told: Told, lowest: LowFit) -> str:
    where = "even in its lowest hole it" if lowest.setting.hole else "it"
    above = armpit_words(lowest.above_armpit_mm, told)
    return f"Too high for this body: {where} stands {above}. Take another bar."


def _too_low(told: Told, fit: LowFit) -> str:
    where = "in its highest hole it" if fit.setting.hole else "it"
    return f"Low for this body: {where} stands {told.lengths.about(-fit.above_chest_mm)} below the chest."


def where_words(above_chest_mm: int, told: Told) -> str:
    """Say where a bar stands to the chest: '2 cm below the chest', 'at the chest'."""
    written = told.lengths.about(abs(above_chest_mm))
    if written.startswith("0 "):
        return "at the chest"
    return f"{written} {'above' if above_chest_mm > 0 else 'below'} the chest"


def heights_words(place: BarPlace, setting: Setting, told: Told) -> str:
    """Say how high a bar stands: '116.2 cm over the floor, 112.2 cm over the mat'."""
    words = f"{told.lengths.exact(setting.top_mm)} over the floor"
    return f"{words}, {told.lengths.exact(place.above_mat_mm(setting))} over the mat" if place.mat_mm else words


def armpit_words(above_mm: int, told: Told) -> str:
    """Say by how much a bar stands above the armpit, which is the low end of an estimate."""
    armpit = armpit_of(told.body)
    low_end = "" if armpit and armpit.measured else "the low end of "
    return f"{told.lengths.about(above_mm)} above {low_end}the armpit"


def _next_up(place: BarPlace, fit: LowFit, chest: Height, armpit: Height, told: Told) -> str:
    higher = next((each for each in place.settings if each.top_mm > fit.setting.top_mm), None)
    if higher is None:
        return ""
    next_fit = low_fit(place, higher, chest, armpit)
    may_be = "above the armpit" if armpit.measured else "it may be above the armpit"
    under = "and still under the armpit" if next_fit.above_armpit_mm <= 0 else f"and {may_be}: not that one"
    return f"The next hole up, {higher.hole}, is {where_words(next_fit.above_chest_mm, told)}, {under}."


def _setting_figure(place: BarPlace, fit: LowFit, chest: Height, armpit: Height, told: Told) -> Figure:
    lengths, setting = told.lengths, fit.setting
    hole = f"hole {setting.hole}, " if setting.hole else ""
    chest_figure, armpit_figure = chest_told(told), armpit_told(told)
    return Figure(
        label="Set it into" if setting.hole else "It stands",
        value=f"{hole}{heights_words(place, setting, told)}: {where_words(fit.above_chest_mm, told)}",
        kind="measured" if chest.measured else "estimate",
        interval="" if chest.measured else _holes_within(place, chest, armpit, told),
        inputs=(
            ("Chest", f"{lengths.of(chest)}, {'measured' if chest.measured else 'estimate'}"),
            ("Armpit, low end", f"{lengths.about(armpit.low_mm)}, {'measured' if armpit.measured else 'estimate'}"),
            ("Mat", lengths.exact(place.mat_mm) if place.mat_mm else "none"),
            *_rack_inputs(place, told),
        ),
        formula="The highest hole in which the bar’s top is not above the chest of who stands on the mat: between two "
        "holes the lower; and never above the low end of the armpit.",
        sources=tuple(
            dict.fromkeys(
                (
                    "practice",
                    "ours",
                    *(source for each in (chest_figure, armpit_figure) if each for source in each.sources),
                )
            )
        ),
        caution=chest_figure.caution if chest_figure else "",
    )


def _rack_inputs(place: BarPlace, told: Told) -> tuple[tuple[str, str], ...]:
    if isinstance(place.stands, int):
        return ()
    lengths, holes = told.lengths, place.stands
    words = (
        f"{holes.count}, the lowest at {lengths.exact(holes.first_mm)}, {lengths.small(holes.pitch_tenths_mm)} apart"
    )
    return (("Holes", words),)


def _holes_within(place: BarPlace, chest: Height, armpit: Height, told: Told) -> str:
    """Return the settings for both ends of the chest's interval; a bar at one height tells its distance instead."""
    above = place.above_mat_mm(place.settings[0])
    if isinstance(place.stands, int):
        ends = (where_words(above - chest.high_mm, told), where_words(above - chest.low_mm, told))
        return f"{ends[0]} to {ends[1]}, {AMONG}"
    fits = [low_setting(place, _at(mm), armpit) for mm in (chest.low_mm, chest.high_mm)]
    low, high = (str(fit.setting.hole) if fit else "none" for fit in fits)
    return f"hole {low} to {high}, {AMONG}" if low != high else f"hole {low}, {AMONG}"


def _at(mm: int) -> Height:
    return Height(mm, mm, mm, measured=False)


def usual_setting(athlete: Athlete, bars: Sequence[Bar], now: datetime) -> str:
    """Return the first of these low bars that suits an athlete and its hole, as forms name it; "" where none does.

    One query, none without bars.
    """
    told = tell_body(athlete, body_notes_of(athlete), now) if bars else None
    shown = [low_bar(bar, told, over=False) for bar in bars] if told else []
    return next((f"{each.bar_id}:{each.hole or ''}" for each in shown if each.figures and not each.unfit), "")


# ---- A high bar ----------------------------------------------------------------------------------------------------


def high_bar(bar: Bar, told: Told, *, over: bool, staff: bool = True) -> BarShown:
    """Tell whether a hang on a high bar is free and what it leaves around it; without queries.

    Of a bar in holes the lowest is taken in which the hang is free in any case, else the highest there is.
    """
    place = place_of(bar)
    setting = _high_setting(place, told)
    return BarShown(
        bar_id=bar.id,
        name=bar.name,
        says=f"Hole {setting.hole}, {told.lengths.exact(setting.top_mm)} over the floor." if setting.hole else "",
        unfit="",
        figures=(*hang_figures(place, setting, told), *leg_rooms(place, setting, told, over=over)),
        asks=room_asks(place, over=over, staff=staff),
        hole=setting.hole,
    )


def _high_setting(place: BarPlace, told: Told) -> Setting:
    reach, toes = reach_of(told.body), toes_mm(told.body)
    free = free_setting(place, reach, toes) if reach and toes is not None else None
    return free or place.settings[-1]


# ---- Checks --------------------------------------------------------------------------------------------------------


def check_words(check: BarCheck, zone: ZoneInfo) -> str:
    """Tell a check of today: 'Checked today at 18:02 in hole 8 by Cleo Adeyemi'."""
    at, hole = check.happened_at.astimezone(zone), f" in hole {check.hole}" if check.hole else ""
    return f"Checked today at {at:%H:%M}{hole} by {check.checked_by.person.full_name}"


def _with_check(shown: BarShown, check: BarCheck | None, zone: ZoneInfo) -> BarShown:
    return replace(
        shown,
        checked=check_words(check, zone) if check else "",
        asks_check=check is None or check.hole != shown.hole,
    )
