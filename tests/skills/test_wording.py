"""Rules and findings as sentences that a coach reads on the floor."""

import pytest

from skills import rule_words, wording
from skills.core import criteria, findings
from skills.core.days import moment_us
from skills.wording import Terms
from tests.factories.skills import days_before_now

NAMES = {"pullover-1": "1 Tucked hold", "pullover-3a": "3a Inverted hang"}
TERMS = Terms(NAMES.__getitem__, "Europe/Berlin", ("chin", "collarbone", "chest"))

RULES = [
    ({"holds": {"count": 3, "seconds": 5, "dates": 2}}, "three clean judged holds of 5 s or longer, on two days"),
    (
        {"holds": {"count": 3, "seconds": "19.5", "sessions": 2, "window_days": 14}},
        "three clean judged holds of 19.5 s or longer, in two sessions, within 14 days",
    ),
    ({"holds": {"count": 1, "seconds": 20, "clean": False, "who": ["judged", "counted", "timed_only", "own"]}},
     "one hold of 20 s or longer"),
    (
        {"reps": {"count": 2, "reps": 3, "unbroken": True, "grade_at_least": 2}},
        "two clean judged sets of 3 reps unbroken or more, graded collarbone or higher",
    ),
    ({"reps": {"count": 3, "reps": 1, "assistance": ["none", "band"]}},
     "three clean judged sets of 1 rep or more, help allowed: band"),
    ({"best": {"seconds": 20}}, "one clean judged hold of 20 s or longer"),
    ({"best": {"reps": 5}}, "one clean judged set of 5 reps or more"),
    ({"last": {"clean": 4, "of": 5, "seconds": 5}},
     "four clean of the last five judged tries, each a hold of 5 s or longer"),
    ({"angle": {"count": 1, "at_least_degrees": 90}}, "one clean judged try with the angle at 90° or more"),
    ({"angle": {"count": 2, "at_most_degrees": 30, "seconds": "2.5", "dates": 2, "clean": False}},
     "two judged tries with the angle at 30° or less, held for 2.5 s or longer, on two days"),
    ({"reliability": {"percent": 60, "confidence": 90, "of": 10, "seconds": 5, "who": ["judged", "counted"]}},
     ("a clean rate of at least 60 % (90 % interval) over the last ten tries, each a hold of 5 s or longer, "
      "entries that are counted or judged")),
    ({"reliability": {"percent": 80, "confidence": 95, "reps": 3, "clean": False}},
     "a rate of at least 80 % (95 % interval) over all judged tries, each a set of 3 reps or more"),
    ({"at_least": {"count": 2, "of": [
        {"step": "pullover-1"}, {"step": "pullover-3a"}, {"any": [{"best": {"reps": 5}}]},
    ]}},
     ("at least two of: 1 Tucked hold is passed, or 3a Inverted hang is passed, "
      "or (either one clean judged set of 5 reps or more)")),
    ({"step": "pullover-3a"}, "3a Inverted hang is passed"),
    (
        {"all": [{"step": "pullover-1"}, {"any": [{"best": {"seconds": 20}}, {"best": {"reps": 5}}]}]},
        ("1 Tucked hold is passed, and (either one clean judged hold of 20 s or longer, "
        "or one clean judged set of 5 reps or more)"),
    ),
    ({"best": {"seconds": 5, "variants": False, "who": ["counted", "judged"]}},
     "one clean hold of 5 s or longer, no easier variant, entries that are counted or judged"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "expected"), RULES, ids=[expected for _, expected in RULES])
def test_a_rule_is_one_sentence(data: dict[str, object], expected: str) -> None:
    assert rule_words.rule(criteria.parse(data), TERMS) == expected


HOLD, REPS = criteria.HoldTarget(50), criteria.RepsTarget(3, unbroken=False)
FOUND = [
    (findings.TooFewHolds(3, 2, 50), "one more clean hold of 5 s"),
    (findings.TooFewHolds(3, 0, 199, clean=False), "three more holds of 19.9 s"),
    (findings.TooFewSets(2, 0, 3, unbroken=True), "two more clean sets of 3 reps unbroken"),
    (findings.TooFewSets(2, 1, 1, unbroken=True, clean=False), "one more set of 1 rep"),
    (findings.TooFewSessions(2, 1), "in another session"),
    (findings.TooFewSessions(3, 1), "in two more sessions"),
    (findings.TooFewSessions(2, 1, HOLD), "one more clean hold of 5 s, in another session"),
    (findings.TooFewDates(2, 1), "on another day"),
    (findings.TooFewDates(3, 0), "on three more days"),
    (findings.TooFewDates(3, 1, REPS, clean=False), "two more sets of 3 reps, on two more days"),
    (findings.TooShort(200, 152), "one clean hold of 20 s (best so far 15.2 s)"),
    (findings.TooShort(200, 0, clean=False), "one hold of 20 s"),
    (findings.TooFewReps(5, 3), "one clean set of 5 reps (best so far 3)"),
    (findings.TooFewReps(5, 0, unbroken=True, clean=False), "one set of 5 reps unbroken"),
    (findings.TooFewCleanOfLast(4, 2, 5, HOLD), "four of the last five tries a clean hold of 5 s (now two)"),
    (findings.TooFewAngles(2, 0, 90, "at_least", 0, None), "two more clean tries at 90° or more"),
    (findings.TooFewAngles(2, 1, 30, "at_most", 50, 42, clean=False),
     "one more try at 30° or less, held for 5 s (nearest so far 42°)"),
    (findings.TooUnreliable(60, 90, 4, 5, 4, HOLD),
     "four more clean holds of 5 s in a row (4 of 5 tries so far show 43 %, 60 % is asked)"),
    (findings.TooUnreliable(20, 90, 0, 0, 1, REPS, clean=False),
     "one more set of 3 reps (0 of 0 tries so far show 0 %, 20 % is asked)"),
    (findings.StepNotPassed("pullover-1"), "pass 1 Tucked hold"),
    (findings.PrerequisiteMissing("pullover-1"), "first pass 1 Tucked hold"),
    (findings.NeedsClearance(), "a coach's clearance to try it"),
    (findings.NeedsSignOff(), "a coach's sign-off"),
    (findings.Paused(("hanging", "straight_arm"), None),
     "paused by a caution (no hanging, straight-arm) until it is lifted"),
    (findings.Flagged(("prerequisite_fell",)),
     "for the coach to look at: a step that leads here no longer stands as passed"),
    (findings.OneOf(((findings.TooShort(200, 0),), (findings.TooFewReps(5, 0), findings.StepNotPassed("pullover-1")))),
     "either one clean hold of 20 s, or one clean set of 5 reps; pass 1 Tucked hold"),
    (findings.SomeOf(2, ((findings.TooShort(200, 0),), (findings.StepNotPassed("pullover-1"),))),
     "two of: (one clean hold of 20 s), or (pass 1 Tucked hold)"),
]  # fmt: skip


@pytest.mark.parametrize(("finding", "expected"), FOUND, ids=[expected for _, expected in FOUND])
def test_a_finding_is_a_few_words(finding: findings.Finding, expected: str) -> None:
    assert wording.sentence(finding, TERMS) == expected


def test_every_finding_has_words() -> None:
    told = {type(finding) for finding, _ in FOUND} | {findings.DueForRecheck}
    assert told == {*findings.Finding.__args__}


def test_missing_things_of_one_condition_are_one_line() -> None:
    missing = (
        findings.TooFewHolds(3, 2, 50),
        findings.TooFewSessions(2, 1),
        findings.TooFewDates(2, 1),
        findings.TooFewDates(2, 1, REPS),
    )
    assert wording.missing_sentences(missing, TERMS) == [
        "one more clean hold of 5 s, in another session, on another day",
        "one more clean set of 3 reps, on another day",
    ]


@pytest.mark.parametrize(
    ("showings", "expected"),
    [
        ((findings.Showing(HOLD, clean=True),), "one clean hold of 5 s"),
        (
            (findings.Showing(HOLD, clean=True), findings.Showing(REPS, clean=False)),
            "one clean hold of 5 s, or one set of 3 reps",
        ),
        ((), "a coach's sign-off"),
    ],
)
def test_a_recheck_says_what_lifts_it(showings: tuple[findings.Showing, ...], expected: str) -> None:
    due = findings.DueForRecheck(moment_us(days_before_now(0).replace(year=2026, month=3, day=5)), showings)
    assert wording.sentence(due, TERMS) == f"{expected}, to show it again (due since 5 Mar 2026)"


def test_days_are_the_gyms() -> None:
    late = days_before_now(0).replace(year=2026, month=10, day=24, hour=22, minute=30)
    assert wording.sentence(findings.DueForRecheck(moment_us(late)), TERMS).endswith("since 24 Oct 2026)")
    assert Terms(str, "Asia/Tokyo").day(moment_us(late)) == "25 Oct 2026"


def test_every_flag_and_state_has_words() -> None:
    assert wording.FLAGS.keys() == {"evidence_voided", "not_met_in_hindsight", "prerequisite_fell"}
    assert wording.STATES.keys() == {"closed", "working", "ready", "passed", "recheck", "paused"}


@pytest.mark.parametrize(
    ("hold_tenths", "reps", "unbroken", "expected"),
    [
        (52, 1, True, "5.2 s"),
        (50, 3, True, "3 × 5 s"),
        (None, 1, True, "1 rep"),
        (None, 4, True, "4 reps"),
        (None, 4, False, "4 reps, broken"),
    ],
)
def test_a_result_in_words(hold_tenths: int | None, reps: int, unbroken: bool, expected: str) -> None:  # noqa: FBT001
    assert wording.result(hold_tenths, reps, unbroken=unbroken) == expected
