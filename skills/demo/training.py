"""Half a year of one athlete: classes, warm-ups, tries, and practice at home."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from random import Random
from typing import Final

from skills.core import facts
from skills.core.facts import UNASSISTED, Source
from skills.demo.coaching import Gatekeeper
from skills.demo.diary import OWN, Diary, Noted, Tried
from skills.demo.latent import LOSS_A_WEEK_AWAY
from skills.demo.notebook import Notebook
from skills.demo.seeded import row_id
from skills.demo.syllabus import Drill, Syllabus, goal_at
from skills.demo.timetable import DAY, MINUTE, SECOND, Session, local_us
from skills.demo.trying import Form, try_once

MOST_STEPS_IN_HAND: Final = 3
MOST_SHOWN_AGAIN: Final = 6
SHOW_AGAIN_US: Final = 10 * DAY
MIS_TAP_EVERY: Final = 9  # one session in so many has a mis-tapped attempt


class Training:
    """Plays one athlete's classes, in order of time."""

    def __init__(self, syllabus: Syllabus, rng: Random, diary: Diary) -> None:
        self.diary, self.notebook = diary, Notebook(syllabus.rules, rng, diary)
        self._syllabus, self._rng = syllabus, rng
        self._gatekeeper = Gatekeeper(rng, self.notebook)
        self._programme = _programme(syllabus, diary.trainee.role.skills)
        self._strength = diary.trainee.latent.start
        self._practice: Counter[str] = Counter()
        self._habits: dict[str, str] = {}
        self._last_on: date | None = None
        self._us = 0

    def attend(self, session: Session, *, mis_tapped: bool) -> None:
        """Play a class: gates that wait, a warm-up of what fades, the steps in hand, gates again."""
        form = self._form(session.on)
        self.diary.present.append(session.id)
        self._us = session.starts_us + self._rng.randint(4 * MINUTE, 10 * MINUTE)
        self._gates(session, form)
        in_hand = self._in_hand()
        if mis_tapped and in_hand:
            self._mis_tap(session, form, in_hand[0])
        tries = [drill for drill in in_hand for _ in range(self._rng.randint(2, 4))]
        self._try_all(session, form, [*self._fading(), *tries])
        self._gates(session, form)

    def practise_at_home(self, day: date) -> None:
        """Log one or two tries of one's own, at a step that needs nobody beside."""
        form = self._form(day, trains=False)
        rules = self._syllabus.rules.steps
        drills = [drill for drill in self._in_hand() if not rules[drill.code].asks_clearance]
        if not drills:
            return
        self._us = max(self._us, local_us(day, time(self._rng.randint(7, 20), self._rng.randint(0, 59))))
        self._try_all(None, form, drills[:1] * self._rng.randint(1, 2))

    def pain(self, session: Session) -> None:
        """Stop at a try that hurt: the loads of the step are paused at once."""
        drill = next(iter(self._in_hand()))
        tried = self._tried(session, self._form(session.on, trains=False), drill)
        hurting = replace(tried, fact=replace(tried.fact, pain=True, faults=frozenset(), missed=frozenset()))
        self.notebook.log(hurting)
        loads = self._syllabus.rules.steps[drill.code].loads
        self.caution(loads, by=session.coach.key, us=hurting.fact.happened_us)

    def caution(self, loads: frozenset[str], *, by: str, us: int, reason: str = "") -> None:
        """Enter a caution without an end."""
        fact = facts.Caution(str(row_id(self._rng, us)), loads, us, None, us + SECOND)
        self.notebook.caution(Noted(fact, by, reason))

    def lift(self, *, by: str, us: int) -> None:
        """Lift the last caution."""
        caution = self.diary.cautions[-1].fact
        self.notebook.lift(Noted(facts.Lift(caution.id, us, us + SECOND), by))

    def _form(self, day: date, *, trains: bool = True) -> Form:
        """Return the athlete's form of the day; a class makes stronger for the next one, weeks away weaker."""
        trainee = self.diary.trainee
        if trains:
            weeks_away = (day - self._last_on).days // 7 if self._last_on else 0
            self._strength -= LOSS_A_WEEK_AWAY * max(weeks_away - 1, 0)
            self._last_on = day
            self.diary.strengths.append((day, round(self._strength, 4)))
        form = Form(trainee.latent, self._strength, trainee.minor, self._habits)
        if trains:
            self._strength += trainee.latent.gain_on(day)
        return form

    def _gates(self, session: Session, form: Form) -> None:
        if not session.coach.signs:
            return
        self._us += self._rng.randint(15, 45) * SECOND
        for drill in self._programme:
            if self._gatekeeper.look(drill, form, session.coach.key, self._us):
                self._us += self._rng.randint(20, 60) * SECOND

    def _allowed(self) -> Iterator[Drill]:
        forbidden = self.notebook.forbidden(self._us)
        return (each for each in self._programme if self._syllabus.rules.steps[each.code].loads.isdisjoint(forbidden))

    def _fading(self) -> list[Drill]:
        """Return passed steps that are due to be shown again, or soon will be; the longest due first."""
        due = []
        for drill in self._allowed():
            now, ahead = (timeline := self.diary.timelines[drill.code]).at(self._us), timeline.after(self._us)
            if now.base == "recheck":
                due.append((now.from_us, drill))
            elif (
                now.base == "passed" and ahead and ahead.base == "recheck" and ahead.from_us < self._us + SHOW_AGAIN_US
            ):
                due.append((ahead.from_us, drill))
        return [drill for _, drill in sorted(due, key=lambda pair: pair[0])[:MOST_SHOWN_AGAIN]]

    def _in_hand(self) -> list[Drill]:
        """Return the steps to work on: what is open and unfinished, the first ones first, a side drill now and then."""
        found = [
            drill
            for drill in self._allowed()
            if self.notebook.now(drill.code, self._us).base == "working"
            and not (drill.side_drill and self._rng.random() < 0.5)
        ]
        return _spread(found)[:MOST_STEPS_IN_HAND]

    def _try_all(self, session: Session | None, form: Form, drills: Sequence[Drill]) -> None:
        for drill in drills:
            self.notebook.log(self._tried(session, form, drill))
            self._practice[drill.code] += 1
        self.notebook.settle({drill.code for drill in drills}, self._us)

    def _tried(self, session: Session | None, form: Form, drill: Drill) -> Tried:
        rng, rule = self._rng, self._syllabus.rules.steps[drill.code]
        goal = goal_at(rule, self._us)
        result = try_once(rng, form, drill, goal, self._practice[drill.code])
        self._us += rng.randint(60, 150) * SECOND + rng.randrange(SECOND)
        attempt = facts.Attempt(
            id=str(row_id(rng, self._us)),
            step=drill.code,
            happened_us=self._us,
            recorded_us=self._us
            + (rng.randint(2, 9) * MINUTE if rng.random() < 0.04 else rng.randint(150_000, 900_000)),
            session=session.id if session else "",
            hold_tenths=result.hold_tenths,
            reps=result.reps,
            unbroken=result.unbroken,
            source=self._source(drill, rule.asks_clearance) if session else "own",
            assistance=result.assistance if session else UNASSISTED,
            variant=result.variant,
            faults=frozenset(result.faults),
            missed=frozenset(result.missed),
            pain=False,
            grade=result.grade,
            closed_try=False,
            angle_degrees=result.angle_degrees,
        )
        return Tried(attempt, session.coach.key if session else OWN, result.effort)

    def _source(self, drill: Drill, asks_clearance: bool) -> Source:  # noqa: FBT001 - told apart by name above
        if asks_clearance or self._rng.random() < 0.85:
            return "judged"
        return "timed_only" if drill.is_hold else "counted"

    def _mis_tap(self, session: Session, form: Form, drill: Drill) -> None:
        """Log what somebody else did, and take it back a moment later."""
        tried = self._tried(session, form, drill)
        self.notebook.log(tried)
        self._us += self._rng.randint(8, 40) * SECOND
        void = facts.Void(tried.fact.id, self._us, self._us + SECOND)
        self.notebook.void(Noted(void, session.coach.key, "Tapped the wrong tile."), drill.code)


def _programme(syllabus: Syllabus, skills: Sequence[str]) -> list[Drill]:
    """Return the drills of the skills that somebody came for, and those that lead there, in the gym's order."""
    wanted = {drill.code for drill in syllabus.drills.values() if drill.skill in skills}
    for code in reversed(syllabus.rules.order):
        if code in wanted:
            wanted.update(syllabus.rules.steps[code].requires)
    return [drill for drill in syllabus.drills.values() if drill.code in wanted]


def home_days(rng: Random, sessions: Iterable[Session], until: date) -> list[date]:
    """Return the days on which somebody practises at home: the day after some classes, and one of the last days."""
    days = sorted({session.on for session in sessions})
    free = [day + timedelta(days=1) for day in days if rng.random() < 0.35]
    found = {day for day in free if day < until and day not in days}
    lately = (until - timedelta(days=back) for back in range(1, 5))
    return sorted({*found, *[day for day in lately if day not in days][:1]})


def _spread(drills: list[Drill]) -> list[Drill]:
    """Return the first drill of each skill before the second ones."""
    seen: Counter[str] = Counter()
    ranked = []
    for drill in drills:
        ranked.append((seen[drill.skill], drill))
        seen[drill.skill] += 1
    return [drill for _, drill in sorted(ranked, key=lambda pair: pair[0])]
