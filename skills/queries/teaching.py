"""What a gym teaches, as its people read it: skills, their graphs, each step whole."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Count

from athletes.models import Gym, Load
from skills.core.criteria import Criterion
from skills.core.days import moment_us
from skills.core.graph_order import Edge
from skills.core.risk_notes import RiskNote
from skills.core.steps import StepRule
from skills.core.timeline import Change
from skills.library.texts import Dose, FaultText, SwapDrill
from skills.models import Fault, Skill, Step
from skills.queries.books import Book, StepPage
from skills.queries.risk_notes import notes_of
from skills.queries.timelines import Timelines


def skill_names(gym: Gym) -> Mapping[str, str]:
    """Return the names of the gym's skills by their slugs, in the gym's order; one query."""
    return dict(Skill.objects.filter(gym=gym).values_list("slug", "name"))


@dataclass(frozen=True, slots=True)
class SkillCard:
    """A skill in the list of a gym's."""

    slug: str
    name: str
    purpose: str
    steps: int


@dataclass(frozen=True, slots=True)
class SkillStep:
    """A step in the graph of a skill, with what leads to it; `outside` ones belong to another skill."""

    page: StepPage
    asks_clearance: bool
    needs_sign_off: bool
    requires: tuple[StepPage, ...]
    outside: bool = False


@dataclass(frozen=True, slots=True)
class SkillGraph:
    """A skill with its steps in the gym's order, and the steps of other skills that lead straight to them."""

    slug: str
    name: str
    purpose: str
    steps: tuple[SkillStep, ...]
    outside: tuple[SkillStep, ...]

    @property
    def edges(self) -> tuple[Edge, ...]:
        """All that leads to one of its steps, as pairs of codes."""
        return tuple((before.code, step.page.code) for step in self.steps for before in step.requires)


@dataclass(frozen=True, slots=True)
class StepWhole:
    """All that a step says; `loads` and `station` in words.

    `criterion` is the one in force at the moment asked for, None where there is none.
    """

    page: StepPage
    rule: StepRule
    criterion: Criterion | None
    over_bar: bool
    loads: tuple[str, ...]
    purpose: str
    set_up: tuple[str, ...]
    cautions: tuple[str, ...]
    getting_down: str
    dose: Dose
    swap_drill: SwapDrill
    trade_practice: tuple[str, ...]
    faults: tuple[FaultText, ...]
    requires: tuple[StepPage, ...]
    opens: tuple[StepPage, ...]
    risk_notes: tuple[RiskNote, ...]
    station: str

    @property
    def is_risky(self) -> bool:
        """Whether safety comes before everything else on its page."""
        return self.rule.inverted or self.over_bar or self.page.form.low_bar_check


@dataclass(frozen=True, slots=True)
class Place:
    """How far an athlete is in a skill: its next open step and how it stands, None where none is open."""

    passed: int
    step: StepPage | None
    now: Change | None


def skills_of(gym_id: UUID) -> list[SkillCard]:
    """Return the gym's skills in its order; one query."""
    # The order is said again: a query that counts by group does not take the model's.
    rows = Skill.objects.filter(gym=gym_id).annotate(count=Count("steps")).order_by("position", "slug")
    return [SkillCard(row.slug, row.name, row.purpose, row.count) for row in rows]


def skill_graph(book: Book, gym_id: UUID, slug: str) -> SkillGraph | None:
    """Return a skill of the gym with its graph, or None; one query."""
    skill = Skill.objects.filter(gym=gym_id, slug=slug).first()
    if skill is None:
        return None
    steps = tuple(_skill_step(book, code) for code, page in book.steps.items() if page.skill_slug == slug)
    outside = {before.code: before for step in steps for before in step.requires if before.skill_slug != slug}
    return SkillGraph(
        slug=slug,
        name=skill.name,
        purpose=skill.purpose,
        steps=steps,
        outside=tuple(_skill_step(book, code, outside=True) for code in outside),
    )


def _skill_step(book: Book, code: str, *, outside: bool = False) -> SkillStep:
    page, rule = book.steps[code], book.rules.steps[code]
    # Its own skill's first, so that "after 2 and another skill's 6" is read right.
    requires = sorted(_pages(book, rule.requires), key=lambda before: before.skill_slug != page.skill_slug)
    return SkillStep(page, rule.asks_clearance, rule.needs_sign_off, tuple(requires), outside)


def _pages(book: Book, codes: Collection[str]) -> tuple[StepPage, ...]:
    """Return these steps in the order of the gym's skills."""
    return tuple(page for page in book.steps.values() if page.code in codes)


def step_whole(book: Book, gym_id: UUID, code: str, now: datetime) -> StepWhole | None:
    """Return everything about one step of the gym, or None; two queries."""
    page = book.steps.get(code)
    row = Step.objects.filter(gym=gym_id, code=code).first() if page else None
    if page is None or row is None:
        return None
    rule = book.rules.steps[code]
    in_force = rule.in_force_at(moment_us(now))
    faults = Fault.objects.filter(step=row)
    return StepWhole(
        page=page,
        rule=rule,
        criterion=in_force.criterion if in_force else None,
        over_bar=row.over_bar,
        loads=tuple(str(Load(load).label) for load in row.loads),
        purpose=row.purpose,
        set_up=tuple(row.set_up),
        cautions=tuple(row.cautions),
        getting_down=row.getting_down,
        dose=Dose(**row.dose),
        swap_drill=SwapDrill(**row.swap_drill),
        trade_practice=tuple(row.trade_practice),
        faults=tuple(FaultText(fault.code, fault.name, fault.cue, fault.dangerous) for fault in faults),
        requires=_pages(book, rule.requires),
        risk_notes=notes_of(row).notes,
        station=str(Step.Station(row.station).label),
        opens=_pages(book, [other for other, its in book.rules.steps.items() if code in its.requires]),
    )


def places_of(book: Book, timelines: Timelines, now: datetime) -> dict[str, Place]:
    """Return an athlete's place in each skill, by its slug. Side drills are nobody's next step."""
    us = moment_us(now)
    places: dict[str, Place] = {}
    for code, page in book.steps.items():
        change = timelines[code].at(us)
        place = places.get(page.skill_slug, Place(0, None, None))
        if change.base == "passed":
            place = Place(place.passed + 1, place.step, place.now)
        elif place.step is None and change.base != "closed" and not page.side_drill:
            place = Place(place.passed, page, change)
        places[page.skill_slug] = place
    return places
