"""This week's practice of an athlete, told: how much of each step and why, hang time, pulls and minutes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Final
from uuid import UUID

from skills import dose_words, wording
from skills.core import dose_findings as why
from skills.core.dose import StepDose
from skills.core.dose_limits import RECENT_WEEKS, REP_SECONDS, most_of
from skills.core.dose_portions import StepCase
from skills.core.figures import Figure
from skills.queries.books import Book, book_of
from skills.queries.doses import DoseWeek, dose_week

if TYPE_CHECKING:
    from athletes.models import Athlete

_NO_RATIO: Final = "No ratio of this week to others is made of it: such ratios foretell no injuries."
_SOURCES_OF_WHY: Final[dict[type, str]] = {
    why.LongerRest: "acsm-2009",
    why.AfterAway: "mcmaster-2013",
    why.NotToFailure: "faigenbaum-2009",
    why.ByRoom: "lum-barbosa-2019",
}


@dataclass(frozen=True, slots=True)
class DoseLine:
    """One step of the week. `changed_by` is the coach who put it so, "" for nobody; `reason` is for staff alone."""

    code: str
    skill: str
    figure: Figure
    place: str
    minutes: str
    why: tuple[str, ...]
    changed_by: str
    reason: str
    open_to_change: bool = True


@dataclass(frozen=True, slots=True)
class DosesPanel:
    """A week of an athlete from its Monday; `left_out` are steps with why they have no dose."""

    athlete_id: UUID
    week: str
    lines: tuple[DoseLine, ...]
    left_out: tuple[tuple[str, str], ...]
    figures: tuple[Figure, ...]
    cautions: tuple[str, ...]
    for_staff: bool

    @property
    def jumps(self) -> bool:
        """Whether the week is beyond its room, or beyond the fullest of the last weeks: that is not folded away."""
        return any(figure.caution for figure in self.figures)


def doses_panel(*, athlete: Athlete, now: datetime, viewer_is_staff: bool) -> DosesPanel:
    """Return what is to be practised this week, in a number of queries that no history changes."""
    book = book_of(athlete.gym)
    return told_week(book, athlete, dose_week(book, athlete, now), viewer_is_staff=viewer_is_staff)


def told_week(book: Book, athlete: Athlete, week: DoseWeek, *, viewer_is_staff: bool) -> DosesPanel:
    """Tell a week that was worked out; without queries."""
    return DosesPanel(
        athlete_id=athlete.id,
        week=f"{week.week_on.day} {week.week_on:%b %Y}",
        lines=tuple(_line(book, week, dose, for_staff=viewer_is_staff) for dose in week.plan.doses),
        left_out=tuple(_left_out(book, week)),
        figures=tuple(_figures(book, week)),
        cautions=tuple(_cautions(week)),
        for_staff=viewer_is_staff,
    )


def _step_name(book: Book, code: str) -> str:
    page = book.steps[code]
    return f"{page.label} {page.name}"


def _line(book: Book, week: DoseWeek, dose: StepDose, *, for_staff: bool) -> DoseLine:
    made = week.changes.get(dose.code)
    return DoseLine(
        code=dose.code,
        skill=book.steps[dose.code].skill_name,
        figure=_figure_of_step(book, week.cases[dose.code], dose),
        place=dose_words.place_words(dose.place),
        minutes=f"{dose_words.minutes(dose.portion.seconds_a_day)} a day",
        why=tuple(dose_words.reason(each) for each in dose.why),
        changed_by=made.by if made else "",
        reason=made.reason if made and for_staff else "",
    )


def _figure_of_step(book: Book, case: StepCase, dose: StepDose) -> Figure:
    sources = [_SOURCES_OF_WHY[type(each)] for each in dose.why if type(each) in _SOURCES_OF_WHY]
    return Figure(
        label=_step_name(book, dose.code),
        value=dose_words.portion_words(dose.portion),
        kind="count",
        inputs=tuple(_inputs(case)),
        formula=_formula(case, dose),
        sources=tuple(dict.fromkeys([*sources, "lloyd-2014", "practice", "ours"])),
    )


def _inputs(case: StepCase) -> Iterator[tuple[str, str]]:
    if case.own.hold_seconds is not None:
        best, asked = wording.seconds(case.best_tenths), wording.seconds(case.target_tenths)
        yield "Best clean hold of eight weeks, without own entries", best if case.best_tenths else "none"
        yield "What the step asks of one hold", asked if case.target_tenths else "nothing said"
    else:
        yield "Best clean set of eight weeks, without own entries", _reps(case.best_reps)
        yield "What the step asks of one set", _reps(case.target_reps)
    yield "What the step itself suggests", dose_words.portion_words(case.own)
    if case.asks_clearance:
        yield "Clearance", wording.CLEARANCES[case.clearance]


def _reps(count: int) -> str:
    return wording.counted(count, "rep") if count else "none"


def _formula(case: StepCase, dose: StepDose) -> str:
    if dose.changed:
        return "As a coach put it for this week."
    if case.own.hold_seconds is None:
        how = "The sets that the step suggests, with no more reps than the best clean set (one fewer under age)"
    else:
        how = (
            "The sets that the step suggests, on the longest rung of 5, 10 and 20 s within 80 % of the best clean hold "
            "(75 % under age) and no longer than the step asks"
        )
    return f"{how}; on two or three days, as the step says; less where the week’s hang time or pulls are used up."


def _left_out(book: Book, week: DoseWeek) -> Iterator[tuple[str, str]]:
    """Yield steps that share a reason together, in the order of the plan."""
    groups: dict[str, list[str]] = {}
    for left in week.plan.left_out:
        made = week.changes.get(left.code)
        by = f" ({made.by})" if made and isinstance(left.why, why.NotThisWeek) else ""
        groups.setdefault(dose_words.reason(left.why) + by, []).append(_step_name(book, left.code))
    for words, names in groups.items():
        yield ", ".join(names), words


# ---- The week as a whole ------------------------------------------------------------------------------------------


def _figures(book: Book, week: DoseWeek) -> Iterator[Figure]:
    yield _minutes(book, week)
    seconds = [volume.hang_seconds for volume in week.person.weeks]
    pulls = [volume.pulls for volume in week.person.weeks]
    total, room, most = week.plan.total, week.plan.room, most_of(minor=week.person.minor)
    if total.hang_seconds or week.this_week.hang_seconds:
        yield _volume(
            "Hang time this week",
            " s",
            (total.hang_seconds, room.hang_seconds, most.hang_seconds, week.this_week.hang_seconds),
            seconds,
            f"All holds on a bar or rings, and {REP_SECONDS} s for each rep there, over all steps and days.",
        )
    if total.pulls or week.this_week.pulls:
        yield _volume(
            "Pulls this week",
            "",
            (total.pulls, room.pulls, most.pulls, week.this_week.pulls),
            pulls,
            "All reps of steps that pull, over all steps and days.",
        )


def _minutes_of(dose: StepDose) -> str:
    days = "one day" if dose.portion.days == 1 else f"{dose.portion.days} days"
    return f"{dose_words.minutes(dose.portion.seconds_a_day)} a day, on {days}"


def _minutes(book: Book, week: DoseWeek) -> Figure:
    return Figure(
        label="Time this week",
        value=dose_words.minutes(week.plan.seconds),
        kind="count",
        inputs=tuple((_step_name(book, dose.code), _minutes_of(dose)) for dose in week.plan.doses),
        formula=f"Holds, reps of {REP_SECONDS} s and the rests between them, on all days; without warming up.",
        sources=("ours",),
    )


def _volume(label: str, unit: str, figures: tuple[int, int, int, int], weeks: list[int], counted: str) -> Figure:
    """Tell a volume beside its room and the athlete's own weeks, in plain figures."""
    total, room, most, done = figures
    return Figure(
        label=label,
        value=f"{total}{unit}",
        kind="count",
        interval=f"at most {room}{unit} this week; {_own_range(weeks, unit)}",
        caution=_beside(total, room, weeks, unit),
        inputs=(
            ("At most this week", f"{room}{unit}"),
            ("At most in any week", f"{most}{unit}"),
            (f"The last {RECENT_WEEKS} whole weeks", ", ".join(f"{value}{unit}" for value in weeks)),
            ("Written down this week so far", f"{done}{unit}"),
        ),
        formula=(
            f"{counted} At most this week: a tenth more than the fullest of the last {RECENT_WEEKS} whole weeks, and a "
            f"small week’s worth for whoever practised less. {_NO_RATIO}"
        ),
        sources=("lum-barbosa-2019", "lloyd-2014", "lolli-2019", "practice", "ours"),
    )


def _own_range(weeks: list[int], unit: str) -> str:
    least, fullest = min(weeks, default=0), max(weeks, default=0)
    if least == fullest:
        return f"{fullest}{unit} in each of the last {RECENT_WEEKS} weeks"
    return f"{least} to {fullest}{unit} in the last {RECENT_WEEKS} weeks"


def _beside(total: int, room: int, weeks: list[int], unit: str) -> str:
    """Return how much this week is beyond its room, or beyond the fullest of the last weeks; "" where it is not."""
    fullest = max(weeks, default=0)
    if total > room:
        return f"{total - room}{unit} more than the week would have room for: a coach put it so."
    if total > fullest:
        return f"{total - fullest}{unit} more than the fullest of the last {RECENT_WEEKS} weeks."
    return ""


def _cautions(week: DoseWeek) -> Iterator[str]:
    yield dose_words.SAFETY
    if week.person.minor:
        yield dose_words.OF_MINORS
    if week.skin_until:
        yield f"Torn skin is noted until {_day(week.skin_until)}: leave bar and rings alone until it has closed."


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
