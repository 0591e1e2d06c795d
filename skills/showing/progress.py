"""An athlete's progress in words: what the page and the printed sheet both say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from skills import rule_words, wording
from skills.core.days import moment_us
from skills.core.findings import NeedsClearance, NeedsSignOff
from skills.library.texts import FaultText
from skills.models import SignOff
from skills.queries.books import Book, StepPage
from skills.queries.progress import NextStep, Progress, StepOnPath
from skills.why_words import DECISIONS, GATES
from skills.wording import Terms


@dataclass(frozen=True, slots=True)
class CueLine:
    """A cue and the fault that it mends: `seen` is "seen last", "seen in the last tries" or "against"."""

    fault: FaultText
    seen: str


@dataclass(frozen=True, slots=True)
class NextWords:
    """The next step in words. `cues` have the faults that were seen last in front."""

    why: str
    missing: list[str]
    cues: list[CueLine]
    dose: str
    criterion: str


@dataclass(frozen=True, slots=True)
class PathLine:
    """A step of the path, and when it was opened and passed in words."""

    step: StepOnPath
    dates: str


@dataclass(frozen=True, slots=True)
class SignOffLine:
    """A coach's decision: on which day, at which step, what it was, and whose."""

    day: str
    page: StepPage
    words: str
    by: str


@dataclass(frozen=True, slots=True)
class ProgressWords:
    """Everything about an athlete's progress that is told in words."""

    next: NextWords | None
    cautions: list[str]
    waiting: list[tuple[StepPage, str]]
    cleared: list[tuple[StepPage, str]]
    path: list[PathLine]
    sign_offs: list[SignOffLine]


def progress_words(book: Book, progress: Progress) -> ProgressWords:
    """Tell an athlete's progress; without queries."""
    terms = wording.terms_of(book)
    return ProgressWords(
        next=_next_words(progress.next, terms) if progress.next else None,
        cautions=[wording.sentence(caution, terms) for caution in progress.cautions],
        waiting=[(step.page, _awaited(step, terms)) for step in progress.waiting],
        cleared=[(step.page, ", ".join(_clearance(step))) for step in progress.cleared],
        path=[_path_line(step, terms) for step in progress.path],
        sign_offs=[_sign_off_line(row, book, terms) for row in progress.decisions],
    )


def _next_words(step: NextStep, terms: Terms) -> NextWords:
    whole = step.whole
    return NextWords(
        why=wording.why_next(step.standing.now, step.opened_us, whole.rule.requires, terms),
        missing=wording.missing_sentences(step.standing.missing, terms),
        cues=list(_cues(whole.faults, step.seen_faults)),
        dose=wording.dose(whole.dose),
        criterion=rule_words.rule(whole.criterion, terms.of_step(whole.page)) if whole.criterion else "",
    )


def _cues(faults: tuple[FaultText, ...], seen: tuple[str, ...]) -> Iterator[CueLine]:
    """Yield the faults that were seen, the last one first, and then the others in the step's order."""
    by_code = {fault.code: fault for fault in faults}
    shown = [code for code in seen if code in by_code]
    for place, code in enumerate(shown):
        yield CueLine(by_code.pop(code), "seen in the last tries" if place else "seen last")
    yield from (CueLine(fault, "against") for fault in by_code.values())


def _awaited(step: StepOnPath, terms: Terms) -> str:
    return wording.sentence(NeedsClearance() if step.now.awaits == "entrance" else NeedsSignOff(), terms)


def _clearance(step: StepOnPath) -> Iterator[str]:
    yield wording.CLEARANCES[step.now.clearance]
    if step.now.trouble:
        yield "a coach has to look at what leads there again"


def _path_line(step: StepOnPath, terms: Terms) -> PathLine:
    opened = f"Opened {terms.day(step.opened_us)}" if step.opened_us else "Always open"
    return PathLine(step, f"{opened}, passed {terms.day(step.passed_us)}" if step.passed_us else opened)


def _sign_off_line(row: SignOff, book: Book, terms: Terms) -> SignOffLine:
    page = book.steps[book.codes[row.step_id]]
    cleared = f", {wording.CLEARANCES[row.clearance]}" if row.clearance else ""
    words = f"{GATES[row.gate]}: {DECISIONS[row.decision]}{cleared}"
    return SignOffLine(terms.day(moment_us(row.happened_at)), page, words, row.signed_by.person.full_name)
