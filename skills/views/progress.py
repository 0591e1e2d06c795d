"""An athlete's own page: the next step, what is missing, this week's practice, the path so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.records import access_athlete, athletes_in_sight, practising_athletes
from athletes.access.rules import ATHLETE, GUARDIAN, LinkRequest, MemberRequest, allow, allow_link
from gymtrack.lib.http import redirect_to, render_page
from skills import rule_words, wording
from skills.core.findings import NeedsClearance, NeedsSignOff
from skills.library.texts import FaultText
from skills.queries.books import book_of
from skills.queries.progress import NextStep, Progress, StepOnPath, athlete_progress
from skills.wording import Terms

if TYPE_CHECKING:
    from athletes.models import Athlete


@allow(ATHLETE, GUARDIAN)
def my_progress(request: MemberRequest) -> HttpResponseBase:
    """Show an athlete their own progress, a guardian the list of their wards."""
    if request.member.role == ATHLETE:
        return _show(request, athletes_in_sight(request.member).get())
    wards = list(practising_athletes(request.member, timezone.now()))
    if len(wards) == 1:
        return redirect_to("progress_of", wards[0].id)
    return render_page(request, "skills/progress/wards.html", {"wards": wards})


@allow(ATHLETE, GUARDIAN)
def progress_of(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Show the progress of somebody in sight: a guardian's ward, or oneself."""
    return _show(request, access_athlete(request.member, athlete_id))


@require_safe
@allow_link
def linked(request: LinkRequest) -> HttpResponseBase:
    """Show the same page, to look at alone, to who holds a private link."""
    return _show(request, request.link.athlete) if request.link else redirect_to("my_progress")


def _show(request: MemberRequest | LinkRequest, athlete: Athlete) -> HttpResponseBase:
    book = book_of(athlete.gym)
    progress = athlete_progress(book, athlete, timezone.now())
    terms = wording.terms_of(book)
    context = {
        "athlete": athlete,
        "own": request.member is not None and athlete.id == request.member.athlete_id,
        "progress": progress,
        "terms": terms,
        "next": _next_words(progress.next, terms) if progress.next else None,
        **_lists(progress, terms),
    }
    return render_page(request, "skills/progress/progress.html", context)


@dataclass(frozen=True, slots=True)
class NextWords:
    """The next step in words. `faults` has the one that was seen last in front."""

    why: str
    missing: list[str]
    faults: list[FaultText]
    last_fault: str
    dose: str
    criterion: str


def _next_words(step: NextStep, terms: Terms) -> NextWords:
    whole = step.whole
    return NextWords(
        why=wording.why_next(step.standing.now, step.opened_us, whole.rule.requires, terms),
        missing=wording.missing_sentences(step.standing.missing, terms),
        faults=sorted(whole.faults, key=lambda fault: fault.code != step.last_fault),
        last_fault=step.last_fault,
        dose=wording.dose(whole.dose),
        criterion=rule_words.rule(whole.criterion, terms.of_step(whole.page)) if whole.criterion else "",
    )


@dataclass(frozen=True, slots=True)
class PathRow:
    """A step of the path, and when it was opened and passed in words."""

    step: StepOnPath
    dates: str


def _lists(progress: Progress, terms: Terms) -> dict[str, object]:
    return {
        "cautions": [wording.sentence(caution, terms) for caution in progress.cautions],
        "waiting": [(step.page, _awaited(step, terms)) for step in progress.waiting],
        "path": [_path_row(step, terms) for step in progress.path],
        "cleared": [(step.page, ", ".join(_clearance(step))) for step in progress.cleared],
    }


def _awaited(step: StepOnPath, terms: Terms) -> str:
    return wording.sentence(NeedsClearance() if step.now.awaits == "entrance" else NeedsSignOff(), terms)


def _path_row(step: StepOnPath, terms: Terms) -> PathRow:
    opened = f"Opened {terms.day(step.opened_us)}" if step.opened_us else "Always open"
    return PathRow(step, f"{opened}, passed {terms.day(step.passed_us)}" if step.passed_us else opened)


def _clearance(step: StepOnPath) -> Iterator[str]:
    yield wording.CLEARANCES[step.now.clearance]
    if step.now.trouble:
        yield "a coach has to look at what leads there again"
