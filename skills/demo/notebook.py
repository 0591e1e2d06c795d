"""A coach's notebook for one athlete: every fact goes in, and the engine says what follows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from random import Random

from skills.core import facts
from skills.core.facts import History
from skills.core.readiness import StepStanding, default_timeline, evaluate_step, look_at, openings_due
from skills.core.steps import Rules
from skills.core.timeline import Change
from skills.demo.diary import Diary, Noted, Opened, Tried
from skills.demo.seeded import row_id


class Notebook:
    """Takes facts into a diary in order of time, and keeps the timelines that follow from them."""

    def __init__(self, rules: Rules, rng: Random, diary: Diary) -> None:
        self.rules, self.diary = rules, diary
        self._rng = rng
        self._attempts: defaultdict[str, list[facts.Attempt]] = defaultdict(list)
        diary.timelines = {code: default_timeline(rules, code) for code in rules.order}

    def now(self, code: str, us: int) -> Change:
        """Return how the athlete stands at a step."""
        return self.diary.timelines[code].at(us)

    def forbidden(self, us: int) -> frozenset[str]:
        """Return the loads that a caution forbids at the moment."""
        lifted = {lift.fact.caution for lift in self.diary.lifts if lift.fact.happened_us <= us}
        active = (caution.fact for caution in self.diary.cautions if caution.fact.id not in lifted)
        return frozenset(load for caution in active if caution.from_us <= us for load in caution.loads)

    def log(self, tried: Tried) -> None:
        """Take an attempt in; `settle` then says what it did."""
        self.diary.tries.append(tried)
        self._attempts[tried.fact.step].append(tried.fact)

    def void(self, void: Noted[facts.Void], code: str) -> None:
        """Take an attempt of a step back."""
        self.diary.voids.append(void)
        self.settle({code}, void.fact.happened_us)

    def decide(self, decided: Noted[facts.SignOff]) -> None:
        """Take a decision in; a pass at the entrance of a closed step opens it."""
        fact = decided.fact
        opens = fact.decision == "passed" and fact.gate == "entrance"
        if opens and self.now(fact.step, fact.happened_us).base == "closed":
            self._open(fact.step, fact.happened_us, fact.id)
        self.diary.sign_offs.append(decided)
        self.settle({fact.step}, fact.happened_us)

    def caution(self, caution: Noted[facts.Caution]) -> None:
        """Take a caution in."""
        self.diary.cautions.append(caution)
        self.settle(self._steps_with(caution.fact.loads), caution.fact.from_us)

    def lift(self, lift: Noted[facts.Lift]) -> None:
        """Take the lifting of a caution in."""
        self.diary.lifts.append(lift)
        loads = next(each.fact.loads for each in self.diary.cautions if each.fact.id == lift.fact.caution)
        self.settle(self._steps_with(loads), lift.fact.happened_us)

    def standing(self, code: str, us: int) -> StepStanding:
        """Return how the athlete stands at a step, with evidence."""
        return look_at(self.rules, code, self._history(code), self.diary.timelines, us)

    def evidence(self, code: str, gate: facts.Gate, us: int) -> tuple[int, tuple[str, ...]]:
        """Return criterion version and attempt ids that a decision rests on: at the entrance, of what leads there."""
        own = self.standing(code, us)
        if gate == "finish":
            return own.criterion_version, own.evidence
        below = (self.standing(required, us) for required in self.rules.steps[code].requires)
        return own.criterion_version, tuple(sorted({attempt for each in below for attempt in each.evidence}))

    def settle(self, touched: Collection[str], us: int) -> None:
        """Bring the timelines up to date after facts on these steps, and record openings that fell due."""
        dirty = set(touched)
        while dirty:
            moved = self._reckon(dirty)
            openings = History(openings=tuple(opened.fact for opened in self.diary.openings))
            due = openings_due(self.rules, self.diary.timelines, openings, us) if moved else ()
            dirty = {opening.step for opening in due}
            for opening in due:
                self._open(opening.step, opening.happened_us, "")

    def _reckon(self, dirty: Collection[str]) -> bool:
        waiting, moved = set(dirty), False
        for code in self.rules.order:
            if code in waiting:
                timeline = evaluate_step(self.rules, code, self._history(code), self.diary.timelines)
                if timeline != self.diary.timelines[code]:
                    self.diary.timelines[code], moved = timeline, True
                    waiting.update(self.rules.dependents(code))
        return moved

    def _history(self, code: str) -> History:
        diary = self.diary
        return History(
            attempts=tuple(self._attempts[code]),
            voids=tuple(void.fact for void in diary.voids),
            openings=tuple(opened.fact for opened in diary.openings if opened.fact.step == code),
            sign_offs=tuple(each.fact for each in diary.sign_offs if each.fact.step == code),
            cautions=tuple(each.fact for each in diary.cautions),
            lifts=tuple(each.fact for each in diary.lifts),
        )

    def _open(self, code: str, us: int, sign_off: str) -> None:
        fact = facts.Opening(str(row_id(self._rng, us)), code, us, us + 200_000)
        self.diary.openings.append(Opened(fact, sign_off))

    def _steps_with(self, loads: frozenset[str]) -> set[str]:
        return {code for code, rule in self.rules.steps.items() if rule.loads & loads}
