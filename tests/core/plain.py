"""The plainest facts and rules; a test names only what matters to it."""

from typing import Any

from skills.core.criteria import Counting, Criterion, HoldsOf
from skills.core.facts import Attempt, Caution, Opening, SignOff
from skills.core.steps import CriterionInForce, Rules, StepRule

ONE_HOLD = HoldsOf(1, 50, Counting())


def attempt(us: int, **changes: Any) -> Attempt:
    """A clean judged hold of 5 s of the step ``hang``, outside any session."""
    values: dict[str, Any] = {
        "id": f"attempt at {us}",
        "step": "hang",
        "happened_us": us,
        "recorded_us": us,
        "session": "",
        "hold_tenths": 50,
        "reps": 1,
        "unbroken": True,
        "source": "judged",
        "assistance": "none",
        "variant": "",
        "faults": frozenset(),
        "missed": frozenset(),
        "pain": False,
        "grade": 0,
        "closed_try": False,
    }
    return Attempt(**values | changes)


def opening(us: int, step: str) -> Opening:
    """The step opens."""
    return Opening(id=f"opening at {us}", step=step, happened_us=us, recorded_us=us)


def sign_off(us: int, step: str, **changes: Any) -> SignOff:
    """The finish is passed, alone."""
    values: dict[str, Any] = {
        "id": f"sign-off at {us}",
        "step": step,
        "gate": "finish",
        "decision": "passed",
        "clearance": "alone",
        "criterion_version": 1,
        "evidence": (),
        "happened_us": us,
        "recorded_us": us,
    }
    return SignOff(**values | changes)


def caution(from_us: int, until_us: int | None = None) -> Caution:
    """No hanging."""
    return Caution("no hanging", frozenset({"hanging"}), from_us, until_us, from_us)


def step(code: str, criterion: Criterion = ONE_HOLD, **changes: Any) -> StepRule:
    """An automatic step that needs nothing before it and hangs."""
    values: dict[str, Any] = {
        "code": code,
        "requires": (),
        "asks_clearance": False,
        "needs_sign_off": False,
        "recheck_days": None,
        "loads": frozenset({"hanging"}),
        "inverted": False,
        "criteria": (CriterionInForce(1, 0, criterion),),
    }
    return StepRule(**values | changes)


def rules(*steps: StepRule, zone: str = "UTC") -> Rules:
    """A gym with these steps."""
    return Rules(steps={one.code: one for one in steps}, zone=zone)
