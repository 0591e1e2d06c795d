"""How much of one step: the rung, the sets, the days, before the week as a whole is looked at; each with why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from skills.core import dose_findings as why
from skills.core.dose_limits import (
    FEWEST_DAYS,
    LONGER_REST_S,
    MINORS_SHARE_PERCENT,
    MOST_DAYS,
    RUNGS_S,
    SHARE_PERCENT,
    Volume,
)
from skills.core.facts import Clearance
from skills.core.portions import Portion

Standing = Literal["open", "passed", "paused", "stopped", "closed"]


@dataclass(frozen=True, slots=True)
class Change:
    """What a coach put in place of the worked-out portion; None: not this week."""

    portion: Portion | None


@dataclass(frozen=True, slots=True)
class StepCase:
    """One step as an athlete stands at it.

    `standing`: *open* while it is not passed, *paused* under a caution, *stopped* where a consent is lacking. `own`
    is what the step itself suggests. `target_tenths` and `target_reps` are the most that its criterion asks of one
    try, `best_tenths` and `best_reps` the best clean unhelped try of the last weeks; 0 for none.
    """

    code: str
    skill: str
    standing: Standing
    own: Portion
    loads: frozenset[str] = frozenset()
    side_drill: bool = False
    asks_clearance: bool = False
    low_bar: bool = False
    clearance: Clearance = ""
    target_tenths: int = 0
    target_reps: int = 0
    best_tenths: int = 0
    best_reps: int = 0
    change: Change | None = None

    @property
    def place(self) -> why.Place:
        """Where it may be practised."""
        return "class" if stays_in_class(self.clearance, asks=self.asks_clearance, low_bar=self.low_bar) else "anywhere"


def stays_in_class(clearance: Clearance, *, asks: bool, low_bar: bool) -> bool:
    """Whether a step is practised in class only.

    So it is as long as it asks for a clearance, as every inverted step does, that is not *alone*; and where it opens
    with a check of a low bar.
    """
    return (asks or low_bar) and clearance != "alone"


@dataclass(frozen=True, slots=True)
class Person:
    """Whose week it is.

    `weeks` are the last whole weeks, the oldest first. `days_away` counts the days between the last two days of
    practice when these span three weeks or more, up to this week; 0 else. `class_days` is on how many days of a week
    there were classes lately, at most.
    """

    minor: bool
    weeks: tuple[Volume, ...] = ()
    days_away: int = 0
    class_days: int = MOST_DAYS


@dataclass(frozen=True, slots=True)
class Wanted:
    """A portion, and why it is so."""

    portion: Portion
    why: tuple[why.Why, ...]


def wanted(case: StepCase, person: Person) -> Wanted:
    """Return the portion that the step alone would have this week."""
    plan = _held(case, person) if case.own.hold_seconds is not None else _counted(case, person)
    reasons = [*plan.why, *([why.NotToFailure()] if person.minor else [])]
    portion = replace(plan.portion, days=min(case.own.days, MOST_DAYS))
    if person.days_away:
        portion = replace(portion, sets=(portion.sets + 1) // 2)
        reasons.append(why.AfterAway(person.days_away))
    placed, more = placed_portion(case, person, portion)
    return Wanted(placed, (*reasons, *more))


def placed_portion(case: StepCase, person: Person, portion: Portion) -> tuple[Portion, tuple[why.Why, ...]]:
    """Return the portion with no more days than there are classes, where the step stays in class, and why."""
    if case.place != "class":
        return portion, ()
    days = max(person.class_days, 1)
    told: tuple[why.Why, ...] = (why.InClassOnly(case.clearance, case.low_bar),)
    return (portion, told) if portion.days <= days else (replace(portion, days=days), (*told, why.ClassDays(days)))


def rung_within(tenths: int) -> int | None:
    """Return the longest rung that is no longer; None where even the shortest is."""
    return max((rung for rung in RUNGS_S if rung * 10 <= tenths), default=None)


def rung_reaching(tenths: int) -> int:
    """Return the shortest rung that is as long, the longest one where none is."""
    return next((rung for rung in RUNGS_S if rung * 10 >= tenths), RUNGS_S[-1])


def _held(case: StepCase, person: Person) -> Wanted:
    own_s = case.own.hold_seconds or RUNGS_S[0]
    share = MINORS_SHARE_PERCENT if person.minor else SHARE_PERCENT
    borne = rung_within(case.best_tenths * share // 100) or RUNGS_S[0]
    asked = rung_reaching(case.target_tenths or own_s * 10)
    rung = min(borne, asked)
    first: why.Why = why.ByBest(rung, case.best_tenths, share)
    if _needs_help(case.best_tenths, rung, share, minor=person.minor):
        first = why.WithHelp(rung, case.best_tenths)
    elif asked < borne:
        first = why.ByTarget(rung, case.target_tenths or own_s * 10)
    portion, more = _spread(case.own, own_s, rung)
    return Wanted(portion, (first, *more))


def _needs_help(best_tenths: int, rung: int, share: int, *, minor: bool) -> bool:
    """An adult may do alone what was done clean once; a minor what is well within that."""
    return (best_tenths * share // 100 if minor else best_tenths) < rung * 10


def _spread(own: Portion, own_s: int, rung: int) -> tuple[Portion, tuple[why.Why, ...]]:
    """Return the step's own portion on another rung: about as many seconds a day, and never more sets."""
    sets = max(1, min(own.sets, own.sets * own_s // rung))
    rest = max(own.rest_seconds, LONGER_REST_S) if rung > own_s else own.rest_seconds
    fewer: tuple[why.Why, ...] = (why.FewerSets(sets, own.sets),) if sets < own.sets else ()
    longer: tuple[why.Why, ...] = (why.LongerRest(rest),) if rest > own.rest_seconds else ()
    return replace(own, sets=sets, hold_seconds=rung, rest_seconds=rest), (*fewer, *longer)


def _counted(case: StepCase, person: Person) -> Wanted:
    if not case.best_reps:
        reps = (case.own.reps + 1) // 2
        return Wanted(replace(case.own, reps=reps), (why.HalfOfOwn(reps, case.own.reps),))
    borne = max(1, case.best_reps - 1) if person.minor else case.best_reps
    reps = min(max(case.own.reps, case.target_reps), borne)
    return Wanted(replace(case.own, reps=reps), (why.ByBestSet(reps, case.best_reps, one_fewer=person.minor),))


def shrunk(portion: Portion, loads: frozenset[str], room: Volume) -> Portion | None:
    """Return as much of a portion as fits the room; of equal ones that on more days. None where nothing fits."""
    fitting = [smaller for smaller in _smaller(portion) if smaller.volume(loads).fits(room)]
    return max(fitting, key=lambda one: (one.tries_a_week, one.days, one.sets), default=None)


def least(portion: Portion) -> Portion:
    """Return the least of a portion that is still practice: one try on two days, or on one where it has one."""
    return replace(portion, sets=1, reps=1, days=min(portion.days, FEWEST_DAYS))


def _smaller(portion: Portion) -> Iterator[Portion]:
    for days in range(min(portion.days, FEWEST_DAYS), portion.days + 1):
        for sets in range(1, portion.sets + 1):
            for reps in range(1, portion.reps + 1):
                yield replace(portion, days=days, sets=sets, reps=reps)
