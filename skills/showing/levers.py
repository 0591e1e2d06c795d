"""The levers of a step: what its pose asks of the hips, how a tuck turns, what it takes to get over the bar."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

from django.utils.safestring import SafeString

from athletes.core.bodies import is_old
from athletes.queries.bodies import BodyNotes, body_notes_of
from gymtrack.lib.units import format_length, format_mass
from skills import wording
from skills.core.days import moment_us
from skills.core.figures import Figure
from skills.core.levers import Body, OutsideRange, Pose, greatest_on_the_way, span_of_ratio
from skills.core.segments import TABLES, WINTER, Table
from skills.queries.books import Book, StepPage, book_of
from skills.queries.teaching import places_of
from skills.queries.timelines import Timelines, kept_timelines
from skills.showing.body_drawing import body_in_support, body_on_bar, pose_words
from skills.showing.lever_figures import NOBODY, Whose, lifting_figures, pose_figures, turning_figures

if TYPE_CHECKING:
    from athletes.models import Athlete

_CROSSING: Final = (
    "Straight legs held level are harder than a tuck: common practice, no source, and the figures say the same. They "
    "cross where the thighs are higher than about 110°: there a slight bend of the knees asks more than straight legs."
)
_TURNS: Final = "A tuck turns faster than a straight body: common practice, no source, and the figures say the same."


@dataclass(frozen=True, slots=True)
class ScaleLine:
    """A step with a pose on the scale of its skill.

    `percent` is of straight legs held level, the most on the way into the pose; `span` what the tables give; `state`
    how the step stands for the athlete, in words, "" for nobody; `is_next` whether it is the athlete's next one.
    """

    page: StepPage
    pose: str
    percent: int
    span: str
    is_shown: bool
    is_next: bool
    state: str


@dataclass(frozen=True, slots=True)
class TableChoice:
    """A published table of segments that the figures may be worked out from."""

    key: str
    name: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class LeversPanel:
    """What `skills/levers/_panel.html` shows.

    `pose` says the step's pose in words, "" for none; `tables` are empty where no figure depends on the table; `asks`
    are sentences that ask for what is missing.
    """

    step: StepPage
    pose: str
    figures: tuple[Figure, ...]
    drawing: SafeString | None
    scale: tuple[ScaleLine, ...]
    tables: tuple[TableChoice, ...]
    asks: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to show of this step."""
        return not (self.figures or self.scale)

    @property
    def table(self) -> str:
        """The name of the chosen table."""
        return next((choice.name for choice in self.tables if choice.is_chosen), WINTER.name)


def levers_panel(
    *,
    athlete: Athlete | None,
    step: StepPage,
    viewer_is_staff: bool,
    table: str = WINTER.key,
    now: datetime,
    book: Book | None = None,
    with_mass: bool = True,
) -> LeversPanel:
    """Return the levers of a step for an athlete, or for nobody in particular; two queries at most, none for nobody.

    `table` is a key of `skills.core.segments.TABLES`, Winter's where it is another word. `book` is the gym's, needed
    where there is no athlete. Figures that need the mass are left out for minors, and where `with_mass` says so, as
    in a private link: the mass could be worked out of them. Raises ValueError without athlete and book.
    """
    book = book_of(athlete.gym) if athlete is not None else book
    if book is None:
        raise ValueError("Without an athlete the gym's book is needed.")
    chosen = TABLES.get(table, WINTER)
    whose = _whose(athlete, viewer_is_staff=viewer_is_staff, now=now) if athlete is not None else NOBODY
    if not with_mass:
        whose = replace(whose, body=None, inputs=whose.stature, asks=())
    figures, scale = tuple(_figures(book, step, chosen, whose)), _scale(book, step, chosen, athlete, now)
    return LeversPanel(
        step=step,
        pose=pose_words(step.pose) if step.pose else "",
        figures=figures,
        drawing=_drawing(book, step),
        scale=scale,
        tables=tuple(TableChoice(each.key, each.name, each is chosen) for each in TABLES.values()) if scale else (),
        asks=whose.asks if _needs_a_body(book, step) else (),
        notes=tuple(_notes(book, step, scale)),
    )


# ---- The person -----------------------------------------------------------------------------------------


def _whose(athlete: Athlete, *, viewer_is_staff: bool, now: datetime) -> Whose:
    notes, today = body_notes_of(athlete), now.astimezone(athlete.gym.zone).date()
    adult = not athlete.is_minor(today)
    asks = [*_asks(notes, today, adult=adult, viewer_is_staff=viewer_is_staff)]
    body = None
    if adult and notes.stature_m and notes.mass_kg:
        try:
            body = Body(float(notes.stature_m.value), float(notes.mass_kg.value))
        except OutsideRange as error:
            asks.append(f"{error} The figures that need it are left out.")
    stature_m = float(notes.stature_m.value) if notes.stature_m else None
    return Whose(stature_m, body, tuple(_inputs(notes, athlete.gym.units, adult=adult)), tuple(asks), adult)


def _inputs(notes: BodyNotes, units: str, *, adult: bool) -> Iterator[tuple[str, str]]:
    if notes.stature_m:
        yield "Stature", f"{format_length(notes.stature_m.value, units)}, measured {_day(notes.stature_m.on)}"
    if notes.mass_kg and adult:
        yield "Mass", f"{format_mass(notes.mass_kg.value, units)}, measured {_day(notes.mass_kg.on)}"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _asks(notes: BodyNotes, today: date, *, adult: bool, viewer_is_staff: bool) -> Iterator[str]:
    if notes.stature_m and is_old(measured_on=notes.stature_m.on, today=today, minor=not adult):
        yield "The stature was measured more than three months ago: measure it again."
    missing = [] if notes.stature_m else ["stature"]
    if adult and not notes.mass_kg:
        missing.append("mass")
    if missing:
        names = " and ".join(missing)
        them = "them" if len(missing) > 1 else "it"
        by = f"Note {names}" if viewer_is_staff else f"A coach can note {names}"
        yield f"Not measured: {names}. {by}, and the figures that need {them} stand here too."


# ---- Figures --------------------------------------------------------------------------------------------


def _figures(book: Book, step: StepPage, table: Table, whose: Whose) -> Iterator[Figure]:
    if step.pose is not None:
        yield from pose_figures(step.pose, table, whose, hanging=_hangs(book, step))
    if _turns(book, step):
        yield from turning_figures(whose)
    if _lifts(book, step) and whose.stature_m is not None:
        yield from lifting_figures(whose.stature_m, whose)


def _needs_a_body(book: Book, step: StepPage) -> bool:
    return step.pose is not None or _turns(book, step) or _lifts(book, step)


def _hangs(book: Book, step: StepPage) -> bool:
    return "hanging" in book.rules.steps[step.code].loads


def _turns(book: Book, step: StepPage) -> bool:
    return book.rules.steps[step.code].inverted and _hangs(book, step)


def _lifts(book: Book, step: StepPage) -> bool:
    """Whether the whole way from a hang to a support is the body's own, without a push from the floor."""
    return step.over_bar and step.station != "low_bar" and _hangs(book, step)


# ---- The scale, the drawing, the notes ------------------------------------------------------------------


def _scale(book: Book, step: StepPage, table: Table, athlete: Athlete | None, now: datetime) -> tuple[ScaleLine, ...]:
    """Every step of the skill that holds a pose, in order of what it asks; one query for an athlete."""
    posed = [(page, page.pose) for page in book.steps.values() if page.skill_slug == step.skill_slug and page.pose]
    if not posed:
        return ()
    timelines = kept_timelines(book, [athlete.id])[athlete.id] if athlete is not None else None
    upcoming = _next_step(book, step, timelines, now)
    lines = [
        replace(
            _line(page, pose, table),
            is_shown=page.code == step.code,
            is_next=page.code == upcoming,
            state=wording.STATES[timelines[page.code].at(moment_us(now)).state] if timelines is not None else "",
        )
        for page, pose in posed
    ]
    return tuple(sorted(lines, key=lambda line: line.percent))


def _next_step(book: Book, step: StepPage, timelines: Timelines | None, now: datetime) -> str:
    place = places_of(book, timelines, now).get(step.skill_slug) if timelines is not None else None
    return place.step.code if place and place.step else ""


def _line(page: StepPage, pose: Pose, table: Table) -> ScaleLine:
    at, most = greatest_on_the_way(pose, table)
    low, high = (round(100 * end) for end in span_of_ratio(Pose(at, pose.knee_degrees)))
    span = f"{low} to {high} %" if low < high else ""
    return ScaleLine(page, pose_words(pose), round(100 * most), span, is_shown=False, is_next=False, state="")


def _drawing(book: Book, step: StepPage) -> SafeString | None:
    if step.pose is None:
        return None
    draw = body_on_bar if _hangs(book, step) else body_in_support
    return draw(step.pose, name=f"body-{step.code}", title=f"{step.label} {step.name}: the pose to scale")


def _notes(book: Book, step: StepPage, scale: tuple[ScaleLine, ...]) -> Iterator[str]:
    if scale:
        yield _CROSSING
    if _turns(book, step):
        yield _TURNS
