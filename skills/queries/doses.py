"""This week's practice of one athlete: the facts that it is worked out from, and what coaches changed."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypedDict
from uuid import UUID

from athletes.models import Athlete, SkinNote
from skills.core.conditions import AngleTarget, HoldTarget, RepsTarget, attempt_leaves, target_of
from skills.core.days import moment_us
from skills.core.dose import WeekPlan, plan_week
from skills.core.dose_limits import FEWEST_DAYS, Volume
from skills.core.dose_portions import Change, Person, Standing, StepCase
from skills.core.portions import Portion
from skills.core.steps import StepRule
from skills.core.weeks import week_on
from skills.models import DoseChange, Step
from skills.queries.books import Book, StepPage
from skills.queries.evidence import remarks_by_commitment
from skills.queries.practice import Lately, class_days, practised_lately
from skills.queries.standings import next_step
from skills.queries.stops import Stops, stops_of
from skills.queries.timelines import Timelines, kept_timelines

_UNFINISHED = frozenset({"working", "ready", "recheck"})


@dataclass(frozen=True, slots=True)
class ChangeMade:
    """The change that stands for a step this week: its row, who made it, and the reason while it is kept."""

    row: DoseChange
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class DoseWeek:
    """A week of an athlete from its Monday, worked out, with what it was worked out from, by step code."""

    week_on: date
    person: Person
    plan: WeekPlan
    cases: Mapping[str, StepCase]
    changes: Mapping[str, ChangeMade]
    this_week: Volume
    skin_until: date | None

    @property
    def may_have(self) -> tuple[str, ...]:
        """The codes of the steps that a coach may give a dose: those that are open to the athlete."""
        return tuple(code for code, case in self.cases.items() if case.standing in {"open", "passed"})


def dose_week(book: Book, athlete: Athlete, now: datetime) -> DoseWeek:
    """Return this week's practice, in ten queries at most, however long the history."""
    us, monday = moment_us(now), week_on(moment_us(now), athlete.gym.time_zone)
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    stops = stops_of(book, [athlete], {athlete.id: kept}, now)[athlete.id]
    lately = practised_lately(book, athlete, now)
    changes = _changes(book, athlete, monday)
    rows = {code: made.row for code, made in changes.items()}
    cases = _cases(book, kept=kept, stops=stops, us=us, lately=lately, changes=rows)
    person = Person(
        minor=athlete.is_minor(now.astimezone(athlete.gym.zone).date()),
        weeks=lately.weeks,
        days_away=lately.days_away,
        class_days=class_days(athlete.gym, now) or FEWEST_DAYS,
    )
    code = next_step(book, kept, now, stopped=stops.codes)
    practised = {book.steps[done].skill_slug for done in lately.codes}
    plan = plan_week(tuple(cases.values()), person, next_code=code, practised=practised)
    return DoseWeek(monday, person, plan, cases, changes, lately.this_week, _skin_until(athlete, now))


def portion_of(row: DoseChange) -> Portion | None:
    """Return what a coach's change says; None for "not this week"."""
    if row.sets is None or row.reps is None or row.rest_seconds is None or row.days is None:
        return None
    return Portion(row.sets, row.reps, row.hold_seconds, row.rest_seconds, row.days)


def _changes(book: Book, athlete: Athlete, monday: date) -> dict[str, ChangeMade]:
    """Return the changes of the week that stand, the latest of each step; two queries where there are any."""
    rows = DoseChange.objects.filter(gym=book.gym_id, athlete=athlete, week_on=monday)
    latest = {row.step_id: row for row in rows.select_related("changed_by__person").order_by("recorded_at", "pk")}
    standing = [row for row in latest.values() if not row.taken_back]
    remarks = remarks_by_commitment(athlete.gym, [row.id for row in standing]) if standing else {}
    return {
        book.codes[row.step_id]: ChangeMade(
            row, row.changed_by.person.full_name, remarks.get(row.remark_commitment, "")
        )
        for row in standing
    }


def _skin_until(athlete: Athlete, now: datetime) -> date | None:
    today = now.astimezone(athlete.gym.zone).date()
    notes = SkinNote.objects.filter(gym=athlete.gym_id, athlete=athlete, until_on__gte=today).order_by("-until_on")
    return notes.values_list("until_on", flat=True).first()


def _cases(
    book: Book, *, kept: Timelines, stops: Stops, us: int, lately: Lately, changes: Mapping[str, DoseChange]
) -> dict[str, StepCase]:
    """Return the steps that are open, and those with a change, in the gym's order; one query."""
    standings = {code: _standing(kept, stops, code, us) for code in book.steps}
    codes = [
        code for code in book.steps if code in changes or standings[code] == "passed" or _unfinished(kept, code, us)
    ]
    own = own_portions(book, codes)
    return {
        code: StepCase(
            code=code,
            skill=book.steps[code].skill_slug,
            standing=standings[code],
            own=own[code],
            change=Change(portion_of(changes[code])) if code in changes else None,
            best_tenths=lately.best_tenths.get(code, 0),
            best_reps=lately.best_reps.get(code, 0),
            clearance=kept[code].at(us).clearance,
            **_of_rule(book.rules.steps[code], book.steps[code], us),
        )
        for code in codes
    }


class _OfRule(TypedDict):
    loads: frozenset[str]
    side_drill: bool
    asks_clearance: bool
    low_bar: bool
    target_tenths: int
    target_reps: int


def _of_rule(rule: StepRule, page: StepPage, us: int) -> _OfRule:
    tenths, reps = targets_of(rule, us)
    return _OfRule(
        loads=rule.loads,
        side_drill=page.side_drill,
        asks_clearance=rule.asks_clearance or rule.inverted,
        low_bar=page.form.low_bar_check,
        target_tenths=tenths,
        target_reps=reps,
    )


def targets_of(rule: StepRule, us: int) -> tuple[int, int]:
    """Return the longest hold in tenths and the most reps that the criterion in force asks of one try; 0 for none."""
    in_force = rule.in_force_at(us)
    aims = [target_of(leaf) for leaf in attempt_leaves(in_force.criterion)] if in_force else []
    tenths = [aim.tenths for aim in aims if isinstance(aim, (HoldTarget, AngleTarget))]
    return max(tenths, default=0), max((aim.reps for aim in aims if isinstance(aim, RepsTarget)), default=0)


def _standing(kept: Timelines, stops: Stops, code: str, us: int) -> Standing:
    now = kept[code].at(us)
    if now.base == "closed":
        return "closed"
    if now.state == "paused":
        return "paused"
    if code in stops.codes:
        return "stopped"
    return "passed" if now.base == "passed" else "open"


def _unfinished(kept: Timelines, code: str, us: int) -> bool:
    return kept[code].at(us).base in _UNFINISHED


def own_portions(book: Book, codes: Collection[str]) -> dict[str, Portion]:
    """Return what the steps themselves suggest."""
    ids: list[UUID] = [book.steps[code].id for code in codes]
    rows = Step.objects.filter(gym=book.gym_id, pk__in=ids).values_list("code", "dose")
    return {code: _portion(dose) for code, dose in rows}


def _portion(dose: Mapping[str, int | None]) -> Portion:
    return Portion(
        sets=dose["sets"] or 1,
        reps=dose["reps"] or 1,
        hold_seconds=dose["hold_seconds"],
        rest_seconds=dose["rest_seconds"] or 0,
        days=dose["days_a_week"] or 1,
    )
