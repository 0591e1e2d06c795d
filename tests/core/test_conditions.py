"""What one attempt is worth to one condition."""

import pytest

from skills.core.conditions import (
    AllOf,
    AngleOf,
    AngleTarget,
    AnyOf,
    AtLeastOf,
    BestOf,
    Counting,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
    attempt_leaves,
    counts_for,
    leaves,
    looks_at,
    reaches,
    steps_named,
    succeeds,
)
from tests.core.notebook import attempt

FIVE_SECONDS = HoldsOf(3, 50)


@pytest.mark.parametrize(
    ("counting", "words", "expected"),
    [
        (Counting(), "", True),
        (Counting(), ", fault, pain, missed", True),  # looked at, as a miss
        (Counting(), ", own", False),
        (Counting(), ", counted", False),
        (Counting(), ", timed only", False),
        (Counting(who=frozenset({"own", "judged"})), ", own", True),
        (Counting(who=frozenset({"own"})), "", False),
        (Counting(), ", band", False),
        (Counting(assistance=frozenset({"none", "band"})), ", band", True),
        (Counting(assistance=frozenset({"band"})), "", False),
        (Counting(), ", bent", True),
        (Counting(variants=False), ", bent", False),
        (Counting(variants=False), "", True),
        (Counting(grade_at_least=2), ", grade 1", False),
        (Counting(grade_at_least=2), ", grade 2", True),
        (Counting(grade_at_least=1), "", False),
    ],
)
def test_try_is_looked_at_by_entry_assistance_form_and_grade(counting, words, expected):
    assert counts_for(attempt(f"2 Mar 18:00, 5 s{words}"), counting) is expected


@pytest.mark.parametrize(
    ("note", "target", "expected"),
    [
        ("2 Mar 18:00, 5 s", HoldTarget(50), True),
        ("2 Mar 18:00, 4.9 s", HoldTarget(50), False),
        # Source: Code of Points 2025-2028, men's artistic gymnastics: static elements are held for 2 s.
        ("2 Mar 18:00, 1.9 s", HoldTarget(10), False),
        ("2 Mar 18:00, 2 s", HoldTarget(10), True),
        ("2 Mar 18:00, 30 reps", HoldTarget(20), False),
        ("2 Mar 18:00, 5 reps", RepsTarget(5, unbroken=True), True),
        ("2 Mar 18:00, 4 reps", RepsTarget(5, unbroken=False), False),
        ("2 Mar 18:00, 5 reps, broken", RepsTarget(5, unbroken=True), False),
        ("2 Mar 18:00, 5 reps, broken", RepsTarget(5, unbroken=False), True),
        ("2 Mar 18:00, 5 x 5 s", RepsTarget(5, unbroken=False), False),
        ("2 Mar 18:00, 5 s, 90°", AngleTarget(90, "at_least", 0), True),
        ("2 Mar 18:00, 5 s, 89°", AngleTarget(90, "at_least", 0), False),
        ("2 Mar 18:00, 5 s", AngleTarget(0, "at_least", 0), False),
        ("2 Mar 18:00, 3 reps, 30°", AngleTarget(30, "at_most", 0), True),
        ("2 Mar 18:00, 3 reps, 31°", AngleTarget(30, "at_most", 0), False),
        ("2 Mar 18:00, 3 reps, 0°", AngleTarget(30, "at_most", 0), True),
        ("2 Mar 18:00, 3 reps, 90°", AngleTarget(90, "at_least", 50), False),
        ("2 Mar 18:00, 4.9 s, 90°", AngleTarget(90, "at_least", 50), False),
        ("2 Mar 18:00, 5 s, 180°", AngleTarget(90, "at_least", 50), True),
        # Held for 1 s is no hold, and an angle without a length asks for no hold.
        ("2 Mar 18:00, 1.9 s, 90°", AngleTarget(90, "at_least", 10), False),
        ("2 Mar 18:00, 1 s, 90°", AngleTarget(90, "at_least", 0), True),
    ],
)
def test_try_reaches_a_target_of_its_own_kind_only(note, target, expected):
    assert reaches(attempt(note), target) is expected


@pytest.mark.parametrize(
    ("leaf", "note", "looked_at", "success"),
    [
        (FIVE_SECONDS, "2 Mar 18:00, 5 s", True, True),
        (FIVE_SECONDS, "2 Mar 18:00, 5 s, fault", True, False),
        (FIVE_SECONDS, "2 Mar 18:00, 4 s", True, False),
        (FIVE_SECONDS, "2 Mar 18:00, 5 s, own", False, False),
        (FIVE_SECONDS, "2 Mar 18:00, 5 reps", False, False),
        (HoldsOf(3, 50, Counting(clean=False)), "2 Mar 18:00, 5 s, fault", True, True),
        (RepsOf(2, 3, unbroken=True), "2 Mar 18:00, 3 reps", True, True),
        (RepsOf(2, 3, unbroken=True), "2 Mar 18:00, 3 reps, broken", True, False),
        (BestOf(HoldTarget(200)), "2 Mar 18:00, 20 s", True, True),
        (BestOf(RepsTarget(5, unbroken=False)), "2 Mar 18:00, 20 s", False, False),
        (LastOf(3, 5, HoldTarget(50)), "2 Mar 18:00, 5 s", True, True),
        (AngleOf(1, 90, "at_least", 0), "2 Mar 18:00, 5 s, 90°", True, True),
        (AngleOf(1, 90, "at_least", 0), "2 Mar 18:00, 5 s, 80°", True, False),
        (AngleOf(1, 90, "at_least", 0), "2 Mar 18:00, 5 s, 90°, pain", True, False),
        (AngleOf(1, 90, "at_least", 0), "2 Mar 18:00, 5 s", False, False),
        (ReliabilityOf(60, 90, HoldTarget(50), 10), "2 Mar 18:00, 5 s", True, True),
        (ReliabilityOf(60, 90, HoldTarget(50), 10), "2 Mar 18:00, 4 s", True, False),
        (ReliabilityOf(60, 90, HoldTarget(50), 10), "2 Mar 18:00, 5 s, fault", True, False),
        (ReliabilityOf(60, 90, HoldTarget(50), 10), "2 Mar 18:00, 5 reps", False, False),
        (ReliabilityOf(60, 90, HoldTarget(50), 10, Counting(clean=False)), "2 Mar 18:00, 5 s, fault", True, True),
        # k clean of the last n asks for clean tries, whatever else is written.
        (LastOf(3, 5, HoldTarget(50), Counting(clean=False)), "2 Mar 18:00, 5 s, fault", True, False),
    ],
)
def test_try_is_a_success_when_looked_at_long_enough_and_clean_where_asked(leaf, note, looked_at, success):
    assert looks_at(leaf, attempt(note)) is looked_at
    assert succeeds(leaf, attempt(note)) is success


def test_leaves_come_from_left_to_right_and_name_other_steps():
    best, step, other = BestOf(HoldTarget(50)), StepPassed("pullover-1"), StepPassed("support")
    tree = AnyOf((AllOf((best, step)), AtLeastOf(1, (other, FIVE_SECONDS))))
    assert list(leaves(tree)) == [best, step, other, FIVE_SECONDS]
    assert list(attempt_leaves(tree)) == [best, FIVE_SECONDS]
    assert steps_named(tree) == {"pullover-1", "support"}
