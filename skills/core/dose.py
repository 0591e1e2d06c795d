"""This week's practice: which steps, how much of each, and why; the same for the same facts.

Steps are chosen next ones first: the athlete's next step; then the next step of each skill that was practised in the
last weeks; then what else is open there; then the next steps of other skills. Ties go by the order of the gym's skills
and of their steps. Two are chosen, and a third where its skill was practised. What a coach put in is always there.

A step under a caution, or at which a consent is lacking, gets nothing. The rest shares the week's hang time and pulls:
what a coach changed first, then in the order above, each leaving the next ones their least. The next step is told
first.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from skills.core import dose_findings as why
from skills.core.dose_limits import MOST_STEPS, USUAL_STEPS, Volume, room_of
from skills.core.dose_portions import Person, StepCase, Wanted, least, placed_portion, shrunk, wanted
from skills.core.portions import Portion


@dataclass(frozen=True, slots=True)
class StepDose:
    """This week's practice of one step; `volume` is what it comes to."""

    code: str
    portion: Portion
    place: why.Place
    volume: Volume
    changed: bool
    why: tuple[why.Why, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A step that would be practised, and why it is not."""

    code: str
    why: why.WhyNone


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """This week's practice; `room` is the most that it may come to, `total` what it comes to."""

    doses: tuple[StepDose, ...]
    left_out: tuple[LeftOut, ...]
    room: Volume

    @property
    def total(self) -> Volume:
        """Hang time and pulls of all steps."""
        return sum((dose.volume for dose in self.doses), Volume())

    @property
    def seconds(self) -> int:
        """Holding, repeating and resting in the whole week."""
        return sum(dose.portion.seconds_a_day * dose.portion.days for dose in self.doses)


def plan_week(
    cases: Sequence[StepCase], person: Person, *, next_code: str | None, practised: Collection[str] = ()
) -> WeekPlan:
    """Return the week of a person; `cases` in the gym's order, `practised` names the skills of the last weeks."""
    chosen = _chosen(cases, next_code, practised)
    room = room_of(person.weeks, minor=person.minor, away=bool(person.days_away))
    would_be = _chosen([_let(case) for case in cases], next_code, practised)
    barred = [LeftOut(case.code, none) for case in cases if (none := _why_none(case, would_be))]
    doses = _share([(case, chosen[case.code]) for case in _in_turn(cases, chosen)], person, room)
    doses.sort(key=lambda dose: dose.code != next_code)  # told first, whoever was served first
    full = [LeftOut(code, why.NoRoom()) for code in chosen if code not in {dose.code for dose in doses}]
    return WeekPlan(
        tuple(doses), (*barred, *(left for left in full if left.code not in {b.code for b in barred})), room
    )


def _chosen(cases: Sequence[StepCase], next_code: str | None, practised: Collection[str]) -> dict[str, why.Why]:
    """Return why each chosen step is chosen, in the order of the choice; "not this week" keeps its place in it."""
    chosen: dict[str, why.Why] = {
        case.code: why.ChosenByCoach() for case in cases if case.change and case.standing in {"open", "passed"}
    }
    firsts = _first_of_skills(cases)
    ranked = sorted(
        (case for case in cases if case.standing == "open" and case.code not in chosen),
        key=lambda case: (case.code != next_code, case.skill not in practised, case.code not in firsts),
    )
    for case in ranked:
        if len(chosen) < (MOST_STEPS if case.skill in practised else USUAL_STEPS) and not case.side_drill:
            chosen[case.code] = _why_chosen(case, next_code, practised, firsts)
    return chosen


def _first_of_skills(cases: Sequence[StepCase]) -> set[str]:
    firsts: dict[str, str] = {}
    for case in cases:
        if case.standing == "open" and not case.side_drill:
            firsts.setdefault(case.skill, case.code)
    return set(firsts.values())


def _why_chosen(case: StepCase, next_code: str | None, practised: Collection[str], firsts: set[str]) -> why.Why:
    if case.code == next_code:
        return why.NextStep()
    return why.NextOfSkill(practised=case.skill in practised) if case.code in firsts else why.OpenToo()


def _let(case: StepCase) -> StepCase:
    """Return a step as it would be without the caution or the lacking consent."""
    return replace(case, standing="open") if case.standing in {"paused", "stopped"} else case


def _why_none(case: StepCase, would_be: Collection[str]) -> why.WhyNone | None:
    """Return why a step that would be practised is not; None for one that is, or that nobody would choose."""
    if case.standing == "closed":
        return why.NotOpen() if case.change and case.change.portion else None
    if case.code not in would_be:
        return None
    if case.standing == "paused":
        return why.UnderCaution()
    if case.standing == "stopped":
        return why.LacksConsent()
    return why.NotThisWeek() if case.change and not case.change.portion else None


def _in_turn(cases: Sequence[StepCase], chosen: Collection[str]) -> list[StepCase]:
    """Return the chosen steps that get a portion: those that a coach changed first."""
    by_code = {case.code: case for case in cases}
    turn = [by_code[code] for code in chosen]
    return [case for case in turn if not (case.change and case.change.portion is None)]


def _share(turn: Sequence[tuple[StepCase, why.Why]], person: Person, room: Volume) -> list[StepDose]:
    """Give each step in turn what it wants, or what fits, of what is left for it."""
    plans = [(case, _wanted(case, person, first)) for case, first in turn]
    doses: list[StepDose] = []
    left = room
    for place, (case, plan) in enumerate(plans):
        for_later = sum((least(later.portion).volume(other.loads) for other, later in plans[place + 1 :]), Volume())
        dose = _fitted(case, plan, person, left.less(for_later)) or _fitted(case, plan, person, left)
        if dose:
            doses.append(dose)
            left = left.less(dose.volume)
    return doses


def _wanted(case: StepCase, person: Person, first: why.Why) -> Wanted:
    if case.change and case.change.portion:
        portion, more = placed_portion(case, person, case.change.portion)
        return Wanted(portion, (first, *more))
    plan = wanted(case, person)
    return Wanted(plan.portion, (first, *plan.why))


def _fitted(case: StepCase, plan: Wanted, person: Person, room: Volume) -> StepDose | None:
    """An adult's week may come to more where a coach said so; a minor's never does."""
    changed = bool(case.change)
    free = changed and not person.minor
    portion = plan.portion if free else shrunk(plan.portion, case.loads, room)
    if portion is None:
        return None
    reasons = plan.why if portion == plan.portion else (*plan.why, why.ByRoom())
    return StepDose(case.code, portion, case.place, portion.volume(case.loads), changed, reasons)
