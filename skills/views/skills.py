"""What the gym teaches: the list of skills, each one's graph, each step whole. Everybody of the gym may read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.utils import timezone

from athletes.access.records import athletes_in_sight, practising_athletes
from athletes.access.rules import ATHLETE, EVERYBODY, GUARDIAN, MemberRequest, allow
from gymtrack.lib.http import render_page
from skills import rule_words, wording
from skills.core.days import moment_us
from skills.queries.books import Book, book_of
from skills.queries.teaching import SkillStep, StepWhole, places_of, skill_graph, skills_of, step_whole
from skills.queries.timelines import Timelines, kept_timelines
from skills.showing.step_panels import step_panels
from skills.views.criteria import may_edit, version_lines

if TYPE_CHECKING:
    from athletes.models import Athlete


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step in the list beside the drawing, with the athlete's state, '' for anybody else."""

    step: SkillStep
    state: str


@allow(*EVERYBODY)
def skills(request: MemberRequest) -> HttpResponse:
    """List the gym's skills; an athlete sees their own place in each."""
    book = book_of(request.member.gym)
    own = _own_timelines(request, book)
    places = {} if own is None else places_of(book, own, timezone.now())
    cards = [(card, places.get(card.slug)) for card in skills_of(request.member.gym_id)]
    return render_page(request, "skills/skills/list.html", {"skills": cards, "may_change": may_edit(request)})


@allow(*EVERYBODY)
def skill(request: MemberRequest, slug: str) -> HttpResponse:
    """Show a skill as a graph, and the same as a list."""
    book = book_of(request.member.gym)
    graph = skill_graph(book, request.member.gym_id, slug)
    if graph is None:
        raise Http404
    states = _states(_own_timelines(request, book), [step.page.code for step in graph.steps])
    rows = [StepRow(step, states.get(step.page.code, "")) for step in graph.steps]
    context = {"graph": graph, "rows": rows, "states": states, "may_change": may_edit(request)}
    return render_page(request, "skills/skills/skill.html", context)


@allow(*EVERYBODY)
def step(request: MemberRequest, slug: str, code: str) -> HttpResponse:
    """Show everything about one step."""
    book = book_of(request.member.gym)
    whole = step_whole(book, request.member.gym_id, code, timezone.now())
    if whole is None or whole.page.skill_slug != slug:
        raise Http404
    states = _states(_own_timelines(request, book), [code])
    words = {"state": states.get(code, ""), **step_words(book, whole)}
    words |= _panels(request, book, whole)
    words["may_change"] = may_edit(request)
    words["versions"] = version_lines(book, whole.page) if request.member.is_staff_member else []
    return render_page(request, "skills/skills/step.html", {"whole": whole, **words})


def _panels(request: MemberRequest, book: Book, whole: StepWhole) -> dict[str, object]:
    """Return the panels of figures, for whom they are, and for whom they can be: staff and guardians choose."""
    now = timezone.now()
    people = [] if request.member.role == ATHLETE else list(practising_athletes(request.member, now))
    athlete = _looked_at(request, people)
    panels = step_panels(
        book=book,
        athlete=athlete,
        page=whole.page,
        viewer_is_staff=request.member.is_staff_member,
        table=request.GET.get("table", ""),
        now=now,
    )
    return {"panels": panels, "looked_at": athlete, "people": people}


def _looked_at(request: MemberRequest, people: Sequence[Athlete]) -> Athlete | None:
    """Return oneself, or who of the people in sight was chosen; a guardian's only ward is chosen already."""
    if request.member.role == ATHLETE:
        return athletes_in_sight(request.member).first()
    chosen = request.GET.get("athlete", "")
    if request.member.role == GUARDIAN and len(people) == 1:
        return people[0]
    return next((person for person in people if str(person.id) == chosen), None)


def step_words(book: Book, whole: StepWhole) -> dict[str, object]:
    """Return the sentences that a step page needs besides the step itself."""
    terms = wording.terms_of(book).of_step(whole.page)
    return {
        "criterion": rule_words.rule(whole.criterion, terms) if whole.criterion else "",
        "dose": wording.dose(whole.dose),
        "trade_practice": [wording.TRADE_PRACTICE.get(part, part) for part in whole.trade_practice],
    }


def _own_timelines(request: MemberRequest, book: Book) -> Timelines | None:
    own = request.member.athlete_id
    return kept_timelines(book, [own])[own] if own else None


def _states(timelines: Timelines | None, codes: list[str]) -> Mapping[str, str]:
    if timelines is None:
        return {}
    us = moment_us(timezone.now())
    return {code: timelines[code].at(us).state for code in codes}
