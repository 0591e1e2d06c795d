"""Skills as files say them, dealt by Hypothesis: words of many scripts, every safety rule kept."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from skills.core import criteria
from skills.core.levers import Pose
from skills.library.entries import _is_control
from skills.library.texts import (
    LOADS,
    RESERVED_CODES,
    STATIONS,
    TRADE_PRACTICE,
    CheckpointText,
    Dose,
    FaultText,
    SkillText,
    StepText,
    SwapDrill,
    VariantText,
)
from tests.strategies import deal_criterion


def codes() -> st.SearchStrategy[str]:
    return st.from_regex(r"[a-z0-9]{1,8}(-[a-z0-9]{1,6}){0,2}", fullmatch=True).filter(
        lambda code: code not in RESERVED_CODES
    )


def texts(most: int = 300) -> st.SearchStrategy[str]:
    """Words as the reader keeps them: one blank between two, something to see."""
    words = st.text(
        st.characters(exclude_categories=["Cc", "Cs", "Cn", "Z"]).filter(lambda one: not _is_control(one)),
        min_size=1,
        max_size=12,
    )
    tricky = st.sampled_from(
        ["no", "-", "?", ": ", "#", "{", "'", '"', "null", "1", "5.0", "2026-01-01", "&a", "*a", "!"]
    )
    line = st.lists(words | tricky, min_size=1, max_size=40).map(lambda parts: " ".join(" ".join(parts).split()))
    return line.map(lambda text: f"{text[: most - 1].strip()}a")


def _unique(row: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(row, min_size=least, max_size=4, unique_by=lambda one: one.code).map(tuple)


@st.composite
def criteria_data(draw: st.DrawFn) -> Mapping[str, object]:
    """The whole written form of a criterion that can be met and names no other step."""
    data = criteria.to_data(deal_criterion(lambda options: draw(st.sampled_from(options)), (), draw(st.integers(0, 3))))
    assume(not criteria.problems(data))
    return data


def _step(criterion: Mapping[str, object]) -> st.SearchStrategy[StepText]:
    return st.builds(
        StepText,
        code=codes(),
        label=texts(8),
        name=texts(120),
        purpose=texts(),
        set_up=st.lists(texts(), min_size=1, max_size=3).map(tuple),
        measure=st.sampled_from(["hold", "reps"]),
        loads=st.lists(st.sampled_from(LOADS), unique=True).map(tuple),
        inverted=st.booleans(),
        over_bar=st.booleans(),
        low_bar_check=st.booleans(),
        side_drill=st.booleans(),
        requires=st.just(()),
        asks_clearance=st.booleans(),
        needs_sign_off=st.booleans(),
        recheck_days=st.none() | st.integers(1, 3660),
        grades=st.lists(texts(200), max_size=3, unique=True).map(tuple),
        checkpoints=_unique(st.builds(CheckpointText, codes(), texts(200)), 1),
        faults=_unique(st.builds(FaultText, codes(), texts(200), texts(200), st.booleans()), 1),
        variants=_unique(st.builds(VariantText, codes(), texts(200))),
        cautions=st.lists(texts(), min_size=1, max_size=3).map(tuple),
        getting_down=st.none() | texts(),
        dose=st.builds(
            Dose,
            st.integers(1, 9),
            st.none() | st.integers(2, 60),
            st.integers(1, 9),
            st.integers(1, 300),
            st.integers(1, 7),
        ),
        swap_drill=st.builds(SwapDrill, texts(120), texts()),
        trade_practice=st.lists(st.sampled_from(TRADE_PRACTICE), unique=True).map(tuple),
        criterion=st.just(criterion),
        angle=st.just("") | texts(80),
        station=st.sampled_from(STATIONS),
        pose=st.none() | st.builds(Pose, st.integers(0, 180), st.integers(0, 160)),
    ).map(_kept_safe)


def _kept_safe(step: StepText) -> StepText:
    """The same step with what the rules of safety ask of it."""
    risky = step.inverted or step.over_bar
    return replace(
        step,
        asks_clearance=step.asks_clearance or risky,
        needs_sign_off=step.needs_sign_off or risky,
        getting_down=step.getting_down or ("Feet first." if risky else None),
        loads=tuple(dict.fromkeys((*step.loads, *(("inversion",) if step.inverted else ())))),
        pose=None if step.inverted else step.pose,
        dose=replace(step.dose, hold_seconds=(step.dose.hold_seconds or 5) if step.measure == "hold" else None),
    )


def _connected(skill: SkillText) -> SkillText:
    """The same skill, each step after the one before."""
    before = ("", *(step.code for step in skill.steps))
    steps = (replace(step, requires=(code,) if code else ()) for code, step in zip(before, skill.steps, strict=False))
    return replace(skill, steps=tuple(steps))


def skills(criteria_of: st.SearchStrategy[Mapping[str, object]] | None = None) -> st.SearchStrategy[SkillText]:
    """A skill of one to three steps, each after the one before."""
    steps = st.lists(
        (criteria_of or criteria_data()).flatmap(_step),
        min_size=1,
        max_size=3,
        unique_by=(lambda step: step.code, lambda step: step.label),
    ).map(tuple)
    return st.builds(SkillText, codes(), texts(80), texts(), steps).map(_connected)
