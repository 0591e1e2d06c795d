"""The hole of a low bar that suits a group best, told: whom it suits, whom it does not and by how much."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from athletes.queries.bodies import body_notes
from skills.core.body_heights import Height, armpit_of, chest_of
from skills.core.figures import Figure
from skills.core.set_up import TOO_LOW_MM, GroupFit, LowFit, Sharer, group_setting
from skills.models import Bar
from skills.queries.bars import checks_on_day, place_of, standing_checks
from skills.showing.bars import CAUTIONS, RE_SET, armpit_words, check_words, low_bar, where_words
from skills.showing.bodies import Told, armpit_told, chest_told, tell_body
from skills.showing.lengths import Lengths

if TYPE_CHECKING:
    from athletes.models import Athlete


@dataclass(frozen=True, slots=True)
class SharerShown:
    """One of a group: how the hole fits, and into which hole the bar would be set for this one alone."""

    athlete_id: UUID
    figure: Figure
    suits: bool
    alone: str


@dataclass(frozen=True, slots=True)
class SharedBar:
    """A bar for a group. `figure` is None where nobody's heights are known; `asks` says of whom what is lacking."""

    bar_id: UUID
    name: str
    hole: int | None
    figure: Figure | None
    sharers: tuple[SharerShown, ...]
    asks: tuple[tuple[UUID, str, tuple[str, ...]], ...]
    checked: str
    asks_check: bool
    re_set: str
    cautions: tuple[str, ...]


def shared_bar(*, bar: Bar, group: Sequence[tuple[Athlete, str]], now: datetime) -> SharedBar:
    """Return how a bar is set for athletes, each with the name to be shown; two queries whatever their number."""
    notes = body_notes([athlete for athlete, _ in group])
    told = {athlete.id: tell_body(athlete, notes[athlete.id], now) for athlete, _ in group}
    labels = {athlete.id: label for athlete, label in group}
    known = {key: ends for key, each in told.items() if (ends := _ends(each))}
    fit = group_setting(place_of(bar), [Sharer(str(key), *ends) for key, ends in known.items()]) if known else None
    hole = fit.setting.hole if fit else None
    check = next((each for each in standing_checks(checks_on_day(bar.gym, now)) if each.of_id == bar.id), None)
    return SharedBar(
        bar_id=bar.id,
        name=bar.name,
        hole=hole,
        figure=_figure(bar, fit, known, labels) if fit else None,
        sharers=tuple(_sharers(bar, fit, told, labels)) if fit else (),
        asks=tuple((key, labels[key], each.asks) for key, each in told.items() if each.asks),
        checked=check_words(check, bar.gym.zone) if check else "",
        asks_check=fit is not None and (check is None or check.hole != hole),
        re_set=RE_SET,
        cautions=CAUTIONS,
    )


def _ends(told: Told) -> tuple[Height, Height] | None:
    chest, armpit = chest_of(told.body), armpit_of(told.body)
    return (chest, armpit) if chest and armpit else None


def _suits(lengths: Lengths) -> str:
    return f"at the armpit (its low end) or lower, and no more than {lengths.about(TOO_LOW_MM)} below the chest"


def _figure(bar: Bar, fit: GroupFit, known: Mapping[UUID, tuple[Height, Height]], labels: Mapping[UUID, str]) -> Figure:
    lengths, setting = Lengths(bar.gym.units), fit.setting
    suited, measured = len(fit.fits) - len(fit.unsuited), all(chest.measured for chest, _ in known.values())
    hole = f"hole {setting.hole}, " if setting.hole else ""
    return Figure(
        label="Suits best" if setting.hole else "It stands",
        value=f"{hole}{lengths.exact(setting.top_mm)} over the floor: for {suited} of {len(fit.fits)}",
        kind="measured" if measured else "estimate",
        interval="" if measured else "each one’s interval stands with them",
        inputs=(
            *((labels[key], f"chest {lengths.of(chest)}, {_kind(chest)}") for key, (chest, _) in known.items()),
            ("Mat", lengths.exact(bar.mat_mm) if bar.mat_mm else "none"),
        ),
        formula="Every hole is tried. The one that suits most people is taken; of several the one nearest to all "
        f"chests, the distances summed; of these the lowest. It suits who has it {_suits(lengths)}.",
        sources=("practice", "ours", *(() if measured else ("ansur-ii", "winter-2009"))),
    )


def _kind(height: Height) -> str:
    return "measured" if height.measured else "estimate"


def _sharers(bar: Bar, fit: GroupFit, told: Mapping[UUID, Told], labels: Mapping[UUID, str]) -> Iterator[SharerShown]:
    for key, each in fit.fits:
        body = told[UUID(key)]
        figure, armpit = chest_told(body), armpit_told(body)
        if figure is None or armpit is None:
            continue
        alone = low_bar(bar, body, over=False)
        yield SharerShown(
            athlete_id=UUID(key),
            figure=Figure(
                label=labels[UUID(key)],
                value=_fit_words(each, body),
                kind=figure.kind,
                interval=figure.interval and f"chest {figure.interval}",
                inputs=(("Chest", figure.value), ("Armpit", armpit.value), *figure.inputs),
                formula=f"The bar’s top over the mat, less the chest. It suits {_suits(body.lengths)}.",
                sources=tuple(dict.fromkeys((*figure.sources, *armpit.sources, "practice"))),
                caution=figure.caution,
            ),
            suits=each.suits,
            alone="" if each.suits else _alone(alone.hole, alone.unfit),
        )


def _alone(hole: int | None, unfit: str) -> str:
    if unfit or hole is None:
        return "Take another bar."
    return f"For this one alone: hole {hole}, and a check after the re-set."


def _fit_words(fit: LowFit, told: Told) -> str:
    if fit.suits:
        return where_words(fit.above_chest_mm, told)
    if fit.above_armpit_mm > 0:
        return f"does not suit: {armpit_words(fit.above_armpit_mm, told)}"
    return f"does not suit: {where_words(fit.above_chest_mm, told)}"
