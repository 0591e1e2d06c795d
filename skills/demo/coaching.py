"""A coach's decisions at the gates: on the evidence, by what the eye says of the margin, some with a reason."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Final

from skills.core import facts
from skills.core.facts import Clearance, Decision, Gate
from skills.demo.diary import Noted
from skills.demo.notebook import Notebook
from skills.demo.seeded import row_id
from skills.demo.syllabus import Drill
from skills.demo.trying import Form

NOT_YET_ENTRANCE: Final = (
    "Wants to feel the way down once more before the first turn.",
    "Grip opens when tired. We look again next week.",
    "Asked for another week on the step below, and that is right.",
    "Tuck opens early under me; once more with a spot on the step below.",
)
NOT_YET_FINISH: Final = (
    "Clean today, but not when somebody talks. One more class.",
    "Comes down too fast; I want to see two slow ways down.",
    "Third one was near the edge. See it fresh, early in a class.",
    "Looks to me for the count. Should know it alone.",
)
_SLOW_LOOK: Final = 3  # classes until the same gate is looked at again after a "not yet"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a coach says at a gate of a step."""

    code: str
    gate: Gate
    decision: Decision
    clearance: Clearance = ""


class Gatekeeper:
    """Decides for one athlete, on a few gates a class."""

    def __init__(self, rng: Random, notebook: Notebook) -> None:
        self._rng, self._notebook = rng, notebook
        self._wait: dict[str, int] = {}

    def look(self, drill: Drill, form: Form, by: str, us: int) -> bool:
        """Decide at the gate of a drill that waits, or leave it for later; return whether something was decided."""
        gate = self._notebook.now(drill.code, us).awaits
        if not gate or self._busy(drill.code) or self._under_caution(drill.code, us):
            return False
        margin = form.margin(drill)
        passes = self._rng.random() < self._trust(gate, margin)
        if not passes:
            self._wait[drill.code] = _SLOW_LOOK
        clearance = self._clearance(gate, margin, minor=form.minor) if passes else ""
        reasons = NOT_YET_ENTRANCE if gate == "entrance" else NOT_YET_FINISH
        verdict = Verdict(drill.code, gate, "passed" if passes else "not_yet", clearance)
        fact = sign_off_fact(self._notebook, self._rng, verdict, us)
        self._notebook.decide(Noted(fact, by, "" if passes else self._rng.choice(reasons)))
        return True

    def _busy(self, code: str) -> bool:
        """A class is short: some gates are left for next time, and a "not yet" stands for a while."""
        if self._wait.get(code, 0) > 0:
            self._wait[code] -= 1
            return True
        return self._rng.random() < 0.35

    def _under_caution(self, code: str, us: int) -> bool:
        return not self._notebook.rules.steps[code].loads.isdisjoint(self._notebook.forbidden(us))

    def _trust(self, gate: Gate, margin: float) -> float:
        """Return how likely the coach says yes."""
        base, slope = (0.85, 0.5) if gate == "entrance" else (0.88, 0.3)
        return min(max(base + slope * margin, 0.15), 0.97)

    def _clearance(self, gate: Gate, margin: float, *, minor: bool) -> Clearance:
        if gate == "entrance":
            return "present" if margin > 0.5 else "spotted"
        if margin > 0.5 and not minor:
            return "alone"
        return "present" if margin > -0.1 or self._rng.random() < 0.5 else "spotted"


def sign_off_fact(notebook: Notebook, rng: Random, verdict: Verdict, us: int) -> facts.SignOff:
    """Return a decision with the evidence that there is at the moment."""
    version, evidence = notebook.evidence(verdict.code, verdict.gate, us)
    return facts.SignOff(
        id=str(row_id(rng, us)),
        step=verdict.code,
        gate=verdict.gate,
        decision=verdict.decision,
        clearance=verdict.clearance,
        criterion_version=version,
        evidence=evidence,
        happened_us=us,
        recorded_us=us + 150_000,
    )
