"""The sheet of an athlete's progress: which parts it has, in which order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from gymtrack.lib.units import IMPERIAL
from skills import wording
from skills.core.figures import Figure
from skills.queries.books import Book
from skills.queries.progress import NextStep, Progress
from skills.showing.doses import DoseLine, DosesPanel
from skills.showing.progress import NextWords, ProgressWords, progress_words
from skills.showing.progress_panels import Panels
from skills.showing.sheet import Part, Sheet, figures_in, table_rows
from skills.showing.tries import tries_drawn

if TYPE_CHECKING:
    from athletes.models import Athlete

LEGEND = "Filled marks are clean tries; squares are own entries; the dashed line is what one try has to reach."
MOST_ROWS = 8  # of the table beside the chart
NOISE = (
    "Differences below 0.3 s are noise: start and stop of a hand stopwatch are off by about 0.10 s "
    "(standard deviation; Faux and Godolphin 2019)."
)


def progress_sheet(
    book: Book,
    athlete: Athlete,
    progress: Progress,
    panels: Panels,
    *,
    name: str,
    address: str,
    by_link: bool,
    now: datetime,
) -> Sheet:
    """Return the sheet; `name` is how the athlete may be named on paper, "" for the number alone.

    Of what is printed `by_link` coaches are not named.
    """
    words = progress_words(book, progress)
    return Sheet(
        title=f"Progress of {athlete.number} {name}" if name else f"Progress of number {athlete.number}",
        gym=athlete.gym.name,
        day=now.astimezone(athlete.gym.zone).date(),
        address=address,
        paper="us-letter" if athlete.gym.units == IMPERIAL else "a4",
        warnings=[_sentence(line) for line in (*words.cautions, *progress.no_consent)],
        parts=[*_next_parts(book, progress.next, words.next, panels), *_record(words, by_link=by_link)],
    )


def _next_parts(book: Book, step: NextStep | None, words: NextWords | None, panels: Panels) -> Iterator[Part]:
    if step is None or words is None:
        yield Part("Next step", ["Everything that is open is passed."])
        yield _practice(panels.doses)
        return
    whole = step.whole
    yield _next_part(step, words)
    if whole.is_risky:
        yield Part("Safety first", items=list(whole.cautions), notes=[_asks(whole.loads)])
    yield _practice(panels.doses, step)
    yield from _bars(panels)
    yield Part("Cues", items=[f"{line.fault.cue} ({line.seen}: {line.fault.name})" for line in words.cues])
    yield from _curves(book, step, panels)
    yield from _figures(panels)


def _next_part(step: NextStep, words: NextWords) -> Part:
    whole = step.whole
    sign_off = ", and a coach's sign-off" if whole.rule.needs_sign_off else ""
    return Part(
        f"Next step: {whole.page.label} {whole.page.name}",
        [f"{whole.page.skill_name}: {wording.STATES[step.standing.now.state]}. {words.why}"],
        [_upper(line) for line in words.missing] or ["Nothing is missing."],
        notes=[f"It is passed with {words.criterion}{sign_off}."] if words.criterion else [],
    )


def _asks(loads: tuple[str, ...]) -> str:
    return f"Asks of the body: {', '.join(loads)}. Nothing here judges anybody's health."


def _practice(doses: DosesPanel, step: NextStep | None = None) -> Part:
    drill = step.whole.swap_drill if step else None
    paused = step is not None and step.standing.now.state == "paused"
    lead = (
        "Paused: ask a coach first. Where coach and caution allow it, and nothing hurts:"
        if paused
        else "Without a bar:"
    )
    return Part(
        "This week's practice",
        [f"The week from Monday {doses.week}.", *(doses.cautions if doses.lines else ())],
        [f"{words} is left out: {why}." for words, why in doses.left_out],
        figures=[*(_placed(line) for line in doses.lines), *doses.figures],
        notes=[f"{lead} {drill.name}. {drill.text}"] if drill else [],
    )


def _placed(line: DoseLine) -> Figure:
    """Return the figure of a step with where it is practised beneath it."""
    changed = " Changed by a coach for this week." if line.changed_by else ""
    return replace(line.figure, caution=f"{line.skill}. {_upper(line.place)}, {line.minutes}.{changed}")


def _bars(panels: Panels) -> Iterator[Part]:
    bars = panels.bars
    if bars is None or not bars.place:
        return
    says = [f"{bar.name}: {bar.unfit or bar.says}" for bar in bars.bars if bar.unfit or bar.says]
    yield Part(
        "Set-up of the bar for this body",
        says,
        [
            *(f"Missing: {words}" for words in bars.asks),
            *(f"Not known of {bar.name}: {words}" for bar in bars.bars for words in bar.asks),
        ],
        figures=[*(_of_bar(bar.name, figure) for bar in bars.bars for figure in bar.figures), *bars.body],
        notes=[*([bars.re_set] if bars.re_set else []), *bars.cautions],
    )


def _of_bar(name: str, figure: Figure) -> Figure:
    return replace(figure, label=f"{name}, {figure.label[:1].lower()}{figure.label[1:]}")


def _curves(book: Book, step: NextStep, panels: Panels) -> Iterator[Part]:
    """Yield the curve of holds with its trend, or where none is drawn the last tries; these as a table either way."""
    page, trends = step.whole.page, panels.trends if step.whole.page.form.is_hold else None
    table = tries_drawn(page, step.tries, step.whole.criterion, wording.terms_of(book)) if step.tries else None
    drawn = trends.chart if trends and trends.chart else table
    legend = LEGEND if drawn is table else "The table has the last tries."
    noise = f" {NOISE}" if page.form.is_hold else ""
    yield Part(
        "Curve and trend" if trends else "The last tries",
        [line for line in (trends.why_none, *trends.said) if line] if trends else [],
        figures=trends.figures if trends else [],
        chart=drawn,
        columns=table.columns if table else [],
        rows=table_rows(table.rows, MOST_ROWS) if table else [],
        wide=3,
        notes=[legend + noise] if table else [],
    )


def _figures(panels: Panels) -> Iterator[Part]:
    if panels.estimates and (panels.estimates.figure or panels.estimates.held):
        yield Part("The hold to expect", figures=list(figures_in(panels.estimates)), notes=panels.estimates.notes)
    if panels.levers:
        yield Part("Levers", figures=panels.levers.figures)


def _record(words: ProgressWords, *, by_link: bool) -> Iterator[Part]:
    yield Part(
        "Waiting for a coach",
        items=[f"{page.skill_name}, {page.label} {page.name}: {what}" for page, what in words.waiting],
    )
    yield Part(
        "Clearances held",
        items=[f"{page.skill_name}, {page.label} {page.name}: {what}" for page, what in words.cleared],
    )
    yield Part(
        "Sign-offs",
        columns=("Day", "Step", "Decision", "By"),
        rows=[
            (line.day, f"{line.page.label} {line.page.name}", line.words, "a coach" if by_link else line.by)
            for line in words.sign_offs
        ],
        wide=1,
    )
    yield Part(
        "The path so far",
        columns=("Step", "Skill", "Stands", "Dates"),
        rows=[
            (
                f"{row.step.page.label} {row.step.page.name}",
                row.step.page.skill_name,
                wording.STATES[row.step.now.state],
                row.dates,
            )
            for row in words.path
        ],
    )


def _upper(line: str) -> str:
    return line[:1].upper() + line[1:]


def _sentence(line: str) -> str:
    return _upper(line).rstrip(".") + "."
