"""Sentences about practice: doses, why a step is next, how a try was done."""

import pytest

from skills.core.facts import Attempt
from skills.core.timeline import Change
from skills.library import Dose
from skills.wording import Terms, dose, how_done, why_next
from tests.factories.skills import library

TERMS = Terms(lambda code: f"step {code}", "Europe/Berlin")
NOV_3_US = 1_793_728_800_000_000  # 2026-11-03 18:00 UTC, by date -u -d @1793728800


@pytest.mark.parametrize(
    ("plan", "sentence"),
    [
        (Dose(3, 5, 3, 10, 3), "3 sets of 3 holds of 5 s, 10 s rest in between, on 3 days a week"),
        (Dose(1, 30, 1, 119, 1), "1 hold of 30 s, 119 s rest in between, on one day a week"),
        (Dose(4, None, 3, 120, 2), "4 sets of 3 reps, 2 min rest in between, on 2 days a week"),
        (Dose(2, None, 1, 150, 7), "2 sets of 1 rep, 2 min 30 s rest in between, on 7 days a week"),
    ],
)
def test_a_dose_reads_as_a_coach_would_say_it(plan, sentence):
    assert dose(plan) == sentence


def standing(base: str) -> Change:
    return Change(0, base, base, "", "", (), trouble=False)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("base", "opened_us", "requires", "sentence"),
    [
        ("working", 0, (), "Nothing has to come before it."),
        ("working", NOV_3_US, ("a", "b"), "Open since 3 Nov 2026: step a and step b came first."),
        ("working", NOV_3_US, (), "Open since 3 Nov 2026: a clearance came first."),
        ("ready", NOV_3_US, ("a",), "Its criterion is met: a coach's sign-off finishes it."),
        ("recheck", NOV_3_US, ("a",), "It was passed before and is due to be shown again."),
    ],
)
def test_why_a_step_is_next(base, opened_us, requires, sentence):
    assert why_next(standing(base), opened_us, requires, TERMS) == sentence


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "clean"),
        ({"faults": frozenset({"thumb-on-top", "hangs-in-fingers"})}, "Hangs in the fingers, Thumb left on top"),
        ({"missed": frozenset({"thumb-around"})}, "missed: Thumb closed around the bar on the far side"),
        ({"pain": True}, "pain"),
        ({"assistance": "band", "variant": "knees-at-hips"}, "clean, help: band, Knees held at hip height only"),
    ],
)
def test_how_a_try_was_done(gym, changes, words):
    plain = {
        "id": "a", "step": "pullover-1", "happened_us": 0, "recorded_us": 0, "session": "", "hold_tenths": 50,
        "reps": 1, "unbroken": True, "source": "judged", "assistance": "none", "variant": "",
        "faults": frozenset(), "missed": frozenset(), "pain": False, "grade": 0, "closed_try": False,
    }  # fmt: skip
    assert how_done(Attempt(**plain | changes), library(gym).steps["pullover-1"]) == words
