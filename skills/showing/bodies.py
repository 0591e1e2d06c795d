"""The heights of a body that bars are set by, told: measured or estimated from the stature; what is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

from athletes.core.bodies import PARTS, Problem, is_old
from athletes.queries.bodies import BodyNotes, Noted
from skills.core.body_heights import (
    CHEST,
    LEG,
    REACH,
    TOES_BELOW_SOLE,
    Body,
    Height,
    OutsideHumanRange,
    Share,
    armpit_of,
    chest_of,
    leg_of,
    reach_of,
)
from skills.core.figures import Figure
from skills.showing.lengths import Lengths

if TYPE_CHECKING:
    from athletes.models import Athlete

OF_ADULTS: Final = "Estimated by the proportions of adults, and they still grow: measure it."


@dataclass(frozen=True, slots=True)
class Told:
    """A body as far as it is known, what is asked for of it, and the gym's way to write it."""

    body: Body
    notes: BodyNotes
    asks: tuple[str, ...]
    minor: bool
    lengths: Lengths


def tell_body(athlete: Athlete, notes: BodyNotes, now: datetime) -> Told:
    """Return what is known of a body; a measure that no body has is left out, and asked for anew. No query."""
    lengths, minor = Lengths(athlete.gym.units), athlete.is_minor()
    body, odd = _believable(notes)
    today = now.astimezone(athlete.gym.zone).date()
    asks = [*_odd_asks(odd, lengths), *_missing_asks(body, odd)]
    if minor:
        asks += [*_old_asks(notes, today)]
    return Told(body, notes, tuple(asks), minor, lengths)


def _believable(notes: BodyNotes) -> tuple[Body, list[Problem]]:
    """Return the body without the parts that cannot be, and these."""
    noted = {
        "stature_mm": notes.stature_m,
        "chest_mm": notes.chest_m,
        "armpit_mm": notes.armpit_m,
        "reach_mm": notes.reach_m,
    }
    known = {part: each.mm if each else None for part, each in noted.items()}
    odd: list[Problem] = []
    while True:
        try:
            return Body(**known), odd
        except OutsideHumanRange as error:
            odd.append(error.problem)
            known[f"{error.problem.part}_mm"] = None


def _odd_asks(odd: list[Problem], lengths: Lengths) -> Iterator[str]:
    for problem in odd:
        what = PARTS[problem.part][0] if problem.part in PARTS else problem.part
        least, most = lengths.exact(problem.least_mm), lengths.exact(problem.most_mm)
        yield f"The {what} that is noted cannot be: it lies outside {least} to {most}. Measure it again."


def _missing_asks(body: Body, odd: list[Problem]) -> Iterator[str]:
    if body.stature_mm is None and not any(problem.part == "stature" for problem in odd):
        yield "The stature is not known: measure it, and nothing is guessed until then."


def _old_asks(notes: BodyNotes, today: date) -> Iterator[str]:
    parts = {"stature": notes.stature_m, "chest": notes.chest_m, "armpit": notes.armpit_m, "reach": notes.reach_m}
    for name, noted in parts.items():
        if noted and is_old(measured_on=noted.on, today=today, minor=True):
            yield f"The {name} is of {_day(noted)}, more than three months ago: measure it again, they still grow."


def _day(noted: Noted) -> str:
    return f"{noted.on.day} {noted.on:%b %Y}"


# ---- Heights -------------------------------------------------------------------------------------------------------


def chest_told(told: Told) -> Figure | None:
    """Tell the height of the chest."""
    height = chest_of(told.body)
    if height is None or height.measured:
        return _measured("Chest", height, told.notes.chest_m, told)
    return _estimated("Chest", height, CHEST, told, formula=_OF_CHEST, sources=("ansur-ii", "winter-2009"))


def armpit_told(told: Told) -> Figure | None:
    """Tell the height of the armpit, above which no bar is set."""
    height, noted = armpit_of(told.body), told.notes.armpit_m
    if height is None or height.measured:
        return _measured("Armpit", height, noted, told)
    chest = chest_of(told.body)
    return Figure(
        label="Armpit",
        value=told.lengths.about(height.mm),
        kind="estimate",
        interval=told.lengths.between(height.low_mm, height.high_mm),
        inputs=(*_stature_input(told), ("Chest", told.lengths.of(chest) if chest else "")),
        formula=_OF_ARMPIT,
        sources=("ours", "ansur-ii"),
        caution=_caution(told),
    )


def reach_told(told: Told) -> Figure | None:
    """Tell how high the middle of the grip is with both arms overhead."""
    height, sources = reach_of(told.body), ("ansur-ii", "bodyspace-2006")
    if height is None or height.measured:
        return _measured("Reach to the grip", height, told.notes.reach_m, told)
    return _estimated("Reach to the grip", height, REACH, told, formula=_OF_REACH, sources=sources)


def leg_inputs(told: Told) -> tuple[tuple[str, str], ...]:
    """Return the length of the straight leg as an input of other figures."""
    leg = leg_of(told.body)
    if leg is None:
        return ()
    return (*_stature_input(told), ("Hip to pointed toes", f"{told.lengths.of(leg)} ({told.lengths.within(leg)})"))


LEG_FORMULA: Final = (
    f"hip to pointed toes is {LEG.taken:.3f} of the stature. The drawing after Drillis and Contini has the hip at "
    "0.530 of the stature, the survey at 0.513 (men) and 0.519 (women); the longest leg is taken, since it asks for "
    "more room"
)
LEG_SOURCES: Final = ("winter-2009", "ansur-ii", "pommel-2024")
TOES_FORMULA: Final = f"pointed toes reach {TOES_BELOW_SOLE} of the stature below the sole"
_OF_CHEST: Final = (
    "Stature × share. The survey has 0.735 for men and 0.719 for women, the drawing after Drillis and Contini 0.720; "
    "the middle of both sexes is taken, and the interval holds 90 of 100 of either."
)
_OF_REACH: Final = (
    "Stature × 1.20, fully stretched. Worked out of the survey it is 1.215 for men and 1.203 for women; another survey "
    "has 1.184 for an easy stretch, which is a difference of what was asked, not of bodies."
)
_OF_ARMPIT: Final = (
    "No published height of the armpit was found: a third of the way from chest to shoulder is taken for it, and as "
    "far again on both sides. A bar is held under the low end."
)


def _estimated(
    label: str, height: Height, share: Share, told: Told, *, formula: str, sources: tuple[str, ...]
) -> Figure:
    return Figure(
        label=label,
        value=told.lengths.about(height.mm),
        kind="estimate",
        interval=told.lengths.within(height),
        inputs=(
            *_stature_input(told),
            ("Share of the stature", f"{share.taken:.3f} ({share.low:.3f} to {share.high:.3f})"),
        ),
        formula=formula,
        sources=sources,
        caution=_caution(told),
    )


def _measured(label: str, height: Height | None, noted: Noted | None, told: Told) -> Figure | None:
    if height is None:
        return None
    return Figure(
        label=label,
        value=told.lengths.exact(height.mm),
        kind="measured",
        inputs=(("Measured on", _day(noted) if noted else ""),),
        formula="As it was measured in this gym; it goes before any estimate.",
        sources=("ours",),
    )


def _stature_input(told: Told) -> tuple[tuple[str, str], ...]:
    noted = told.notes.stature_m
    return (("Stature", f"{told.lengths.exact(noted.mm)}, measured {_day(noted)}"),) if noted else ()


def _caution(told: Told) -> str:
    return OF_ADULTS if told.minor else ""
