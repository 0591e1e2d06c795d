"""The sheet of an athlete's progress: which parts it has, in which order."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from skills import wording
from skills.queries.books import Book
from skills.queries.progress import NextStep, Progress
from skills.showing.progress import NextWords, ProgressWords, progress_words
from skills.showing.sheet import Part, Sheet, table_rows
from skills.showing.tries import tries_drawn

if TYPE_CHECKING:
    from athletes.models import Athlete

MOST_ROWS = 8  # of the table beside the chart
NOISE = (
    "Differences below 0.3 s are noise: start and stop of a hand stopwatch are off by about 0.10 s "
    "(standard deviation; Faux and Godolphin 2019)."
)


def progress_sheet(
    book: Book, athlete: Athlete, progress: Progress, *, name: str, address: str, now: datetime
) -> Sheet:
    """Return the sheet; `name` is how the athlete may be named on paper, "" for the number alone."""
    words = progress_words(book, progress)
    return Sheet(
        title=f"Progress of {athlete.number} {name}" if name else f"Progress of number {athlete.number}",
        gym=athlete.gym.name,
        day=now.astimezone(athlete.gym.zone).date(),
        address=address,
        warnings=[_sentence(line) for line in (*words.cautions, *progress.no_consent)],
        parts=[*_next_parts(book, progress.next, words.next), *_record(words)],
    )


def _next_parts(book: Book, step: NextStep | None, words: NextWords | None) -> Iterator[Part]:
    if step is None or words is None:
        yield Part("Next step", ["Everything that is open is passed."])
        return
    whole = step.whole
    sign_off = ", and a coach's sign-off" if whole.rule.needs_sign_off else ""
    yield Part(
        f"Next step: {whole.page.label} {whole.page.name}",
        [f"{whole.page.skill_name}: {wording.STATES[step.standing.now.state]}. {words.why}"],
        [_upper(line) for line in words.missing],
        notes=[f"It is passed with {words.criterion}{sign_off}."] if words.criterion else [],
    )
    if whole.is_risky:
        yield Part("Safety first", items=list(whole.cautions), notes=[_asks(whole.loads)])
    yield _practice(step, words)
    yield Part("Cues", items=[f"{line.fault.cue} ({line.seen}: {line.fault.name})" for line in words.cues])
    yield from _curve(book, step)


def _asks(loads: tuple[str, ...]) -> str:
    return f"Asks of the body: {', '.join(loads)}. Nothing here judges anybody's health."


def _practice(step: NextStep, words: NextWords) -> Part:
    drill = step.whole.swap_drill
    if step.standing.now.state == "paused":
        return Part("This week's practice", [f"Paused. Instead: {drill.name}. {drill.text}"])
    return Part("This week's practice", [f"{words.dose}."], notes=[f"Without a bar: {drill.name}. {drill.text}"])


def _curve(book: Book, step: NextStep) -> Iterator[Part]:
    if not step.tries:
        return
    page = step.whole.page
    chart = tries_drawn(page, step.tries, step.whole.criterion, wording.terms_of(book))
    legend = "Filled marks are clean tries; squares are own entries; the dashed line is what one try has to reach."
    rows = table_rows(chart.rows, MOST_ROWS)
    notes = [f"{legend} {NOISE}" if page.form.is_hold else legend]
    yield Part("The last tries", chart=chart, columns=chart.columns, rows=rows, notes=notes)


def _record(words: ProgressWords) -> Iterator[Part]:
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
        rows=[(line.day, f"{line.page.label} {line.page.name}", line.words, line.by) for line in words.sign_offs],
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
