"""Readiness: how an athlete stands at each step, from the rules of the gym and the facts of the athlete.

Pure and exact: the same set of facts, in any order, gives the same timelines to the byte.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from skills.core.conditions import asks_clean, attempt_leaves, target_of
from skills.core.course import Course, course_of
from skills.core.facts import History
from skills.core.findings import (
    DueForRecheck,
    Finding,
    Flagged,
    NeedsClearance,
    NeedsSignOff,
    Paused,
    PrerequisiteMissing,
    Progress,
    Showing,
)
from skills.core.spans import all_hold
from skills.core.steps import Rules, StepRule
from skills.core.timeline import Awaits, Base, Change, Timeline

__all__ = [
    "DueOpening",
    "Progress",
    "Standing",
    "StepStanding",
    "default_timeline",
    "evaluate",
    "evaluate_step",
    "look_at",
    "openings_due",
]


@dataclass(frozen=True, slots=True)
class StepStanding:
    """How it stands at one step at a moment, on what evidence, and what is missing."""

    code: str
    timeline: Timeline
    now: Change
    progress: tuple[Progress, ...]  # one a leaf of the criterion in force
    evidence: tuple[str, ...]  # ids of attempts, sorted
    missing: tuple[Finding, ...]
    criterion_version: int  # 0 = no criterion in force


@dataclass(frozen=True, slots=True)
class Standing:
    """How it stands at every step of the gym at a moment."""

    as_of_us: int
    steps: Mapping[str, StepStanding]


@dataclass(frozen=True, slots=True)
class DueOpening:
    """A step whose required steps are all passed, since ``happened_us``, and which nobody has opened."""

    step: str
    happened_us: int


def evaluate(rules: Rules, history: History, as_of_us: int) -> Standing:
    """Return how it stands at every step; raises CycleError or UnknownStepError for rules in disorder."""
    facts, bare = history.by_step(), replace(history, attempts=(), openings=(), sign_offs=())
    steps: dict[str, StepStanding] = {}
    timelines: dict[str, Timeline] = {}
    for code in rules.order:
        steps[code] = look_at(rules, code, facts.get(code, bare), timelines, as_of_us)
        timelines[code] = steps[code].timeline
    return Standing(as_of_us, steps)


def evaluate_step(rules: Rules, code: str, history_of_step: History, parents: Mapping[str, Timeline]) -> Timeline:
    """Return the timeline at one step.

    ``parents`` holds the timelines of the steps that it requires or asks for in a criterion. Facts of
    other steps in the history are left aside.
    """
    return course_of(rules, code, history_of_step, parents).timeline()


def look_at(rules: Rules, code: str, history: History, parents: Mapping[str, Timeline], as_of_us: int) -> StepStanding:
    """Return how it stands at one step at a moment; ``parents`` as for ``evaluate_step``."""
    return _standing(course_of(rules, code, history, parents), parents, as_of_us)


def openings_due(
    rules: Rules, timelines: Mapping[str, Timeline], history: History, as_of_us: int
) -> tuple[DueOpening, ...]:
    """Return the openings that should be recorded: steps that nobody has to clear and that never opened.

    The moment is the first at which every required step stood as passed.
    """
    opened = {opening.step for opening in history.openings}
    return tuple(
        DueOpening(code, passed_us)
        for code in rules.order
        if rules.steps[code].requires and not rules.steps[code].asks_clearance and code not in opened
        for passed_us in [_all_passed_us(rules, code, timelines)]
        if passed_us is not None and passed_us <= as_of_us
    )


def default_timeline(rules: Rules, code: str) -> Timeline:
    """Return what a step has as long as there are no facts at all."""
    step = rules.steps[code]
    base: Base = "working" if step.always_open else "closed"
    awaits: Awaits = "entrance" if step.asks_clearance and not step.requires else ""
    return Timeline((Change(0, base, base, "", awaits, (), trouble=False),))


def _all_passed_us(rules: Rules, code: str, timelines: Mapping[str, Timeline]) -> int | None:
    required = (timelines[required] for required in rules.steps[code].requires)
    return all_hold(each.spans_where(lambda change: change.base == "passed") for each in required).first_us()


def _standing(course: Course, parents: Mapping[str, Timeline], as_of_us: int) -> StepStanding:
    timeline, version = course.timeline(), course.version_at(as_of_us)
    now = timeline.at(as_of_us)
    return StepStanding(
        code=course.step.code,
        timeline=timeline,
        now=now,
        progress=tuple(version.gathering.progress_at(as_of_us)) if version else (),
        evidence=version.gathering.best_evidence_at(as_of_us) if version else (),
        missing=tuple(_missing(course, now, parents, as_of_us)),
        criterion_version=version.number if version else 0,
    )


def _missing(course: Course, now: Change, parents: Mapping[str, Timeline], us: int) -> Iterator[Finding]:
    if now.state == "paused":
        yield _paused(course, us)
    match now.base:
        case "closed":
            yield from _to_open(course, parents, us)
        case "working":
            version = course.version_at(us)
            yield from version.gathering.lacks_at(us) if version else ()
        case "ready":
            yield NeedsSignOff()
        case "recheck":
            due = course.recheck.covering(us)
            yield DueForRecheck(due.from_us if due else now.from_us, _showings(course.step, us))
    if now.flags:
        yield Flagged(now.flags)


def _showings(step: StepRule, us: int) -> tuple[Showing, ...]:
    """Return what would show the step again: a success for any leaf of the criterion in force."""
    in_force = step.in_force_at(us)
    leaves = attempt_leaves(in_force.criterion) if in_force else ()
    return tuple(dict.fromkeys(Showing(target_of(leaf), asks_clean(leaf)) for leaf in leaves))


def _to_open(course: Course, parents: Mapping[str, Timeline], us: int) -> Iterator[Finding]:
    for required in course.step.requires:
        if parents[required].at(us).base != "passed":
            yield PrerequisiteMissing(required)
    if course.step.asks_clearance:
        yield NeedsClearance()


def _paused(course: Course, us: int) -> Paused:
    """Join the cautions of the moment; one without an end of its own keeps the end open."""
    now = [pause for pause in course.pauses if pause.lasting.from_us <= us < pause.lasting.until_us]
    ends = [pause.until_us for pause in now if pause.until_us is not None]
    loads = frozenset[str]().union(*(pause.loads for pause in now))
    return Paused(tuple(sorted(loads)), max(ends) if len(ends) == len(now) else None)
