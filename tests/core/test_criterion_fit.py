"""A criterion fits its step, or each place where it does not is named."""

import pytest

from skills.core.criterion_fit import Fit, misfits
from skills.core.steps import Rules, StepRule

NAMES = {"hang": "1 Hang", "tuck": "2 Tuck", "turn": "3 Turn"}


def rule(code: str, *requires: str, asks_clearance: bool = False) -> StepRule:
    return StepRule(
        code=code,
        requires=requires,
        asks_clearance=asks_clearance,
        needs_sign_off=True,
        recheck_days=None,
        loads=frozenset(),
        inverted=False,
        criteria=(),
    )


def fit(*, is_hold: bool = True, angle: str = "", grades: int = 0, asks_clearance: bool = False) -> Fit:
    """Of the step 'tuck', which follows 'hang' and leads to 'turn'."""
    steps = (rule("hang"), rule("tuck", "hang", asks_clearance=asks_clearance), rule("turn", "tuck"))
    rules = Rules({step.code: step for step in steps}, "UTC")
    return Fit("tuck", is_hold, angle, grades, rules, NAMES.__getitem__)


HELD, IN_REPS = fit(), fit(is_hold=False)


@pytest.mark.parametrize(
    ("step", "data", "path", "part"),
    [
        (IN_REPS, {"holds": {"count": 3, "seconds": 5}}, "holds", "no try at it is a hold"),
        (HELD, {"reps": {"count": 3, "reps": 5}}, "reps", "no try at it is a set of reps"),
        (IN_REPS, {"best": {"seconds": 5}}, "best.seconds", "ask for reps"),
        (HELD, {"last": {"clean": 3, "of": 5, "reps": 5}}, "last.reps", "ask for seconds"),
        (HELD, {"reliability": {"percent": 60, "reps": 5}}, "reliability.reps", "ask for seconds"),
        (HELD, {"angle": {"count": 1, "at_least_degrees": 90}}, "angle", "measures no angle"),
        (fit(is_hold=False, angle="hip"), {"angle": {"seconds": "5"}}, "angle.seconds", "leave the seconds empty"),
        (HELD, {"holds": {"grade_at_least": 1}}, "holds.grade_at_least", "is not graded"),
        (fit(grades=3), {"holds": {"grade_at_least": 4}}, "holds.grade_at_least", "has 3 grades"),
        (HELD, {"holds": {"assistance": ["none", "rope"]}}, "holds.assistance", "No help is called 'rope'"),
        (fit(asks_clearance=True), {"holds": {"who": ["own", "counted"]}}, "holds.who", "only judged tries count"),
        (HELD, {"step": "tuck"}, "step", "cannot wait for itself"),
        (HELD, {"step": "splits"}, "step", "no step 'splits'"),
        (HELD, {"step": "turn"}, "step", "2 Tuck → 3 Turn → 2 Tuck"),
    ],
)
def test_what_does_not_fit_is_named_with_its_place(step, data, path, part):
    [problem] = misfits(data, step)
    assert problem.path == path
    assert part in problem.sentence


@pytest.mark.parametrize(
    ("step", "data"),
    [
        (HELD, {"holds": {"count": 3, "seconds": 5, "grade_at_least": 0}}),
        (IN_REPS, {"reps": {"count": 3, "reps": 5}}),
        (fit(grades=3), {"best": {"seconds": 5, "grade_at_least": 3}}),
        (fit(angle="hip"), {"angle": {"count": 1, "at_least_degrees": 90, "seconds": 5}}),
        (fit(is_hold=False, angle="hip"), {"angle": {"count": 1, "at_least_degrees": 90, "seconds": None}}),
        (fit(asks_clearance=True), {"holds": {"who": ["judged", "own"]}}),
        (fit(asks_clearance=True), {"holds": {"who": []}}),
        (HELD, {"step": "hang"}),
    ],
)
def test_what_fits_is_let_through(step, data):
    assert misfits(data, step) == ()


def test_places_within_groups_are_told_as_the_written_form_tells_them():
    data = {
        "all": [
            {"step": "hang"},
            {"at_least": {"count": 1, "of": [{"any": [{"step": "tuck"}]}, {"best": {"reps": 1}}]}},
        ]
    }
    assert [problem.path for problem in misfits(data, HELD)] == [
        "all[1].at_least.of[0].any[0].step",
        "all[1].at_least.of[1].best.reps",
    ]


@pytest.mark.parametrize(
    "data", [None, 3, [], {}, {"all": 3}, {"at_least": None}, {"holds": None}, {"step": None}, {"a": 1, "b": 2}]
)
def test_what_cannot_be_read_is_left_to_the_reader(data):
    assert misfits(data, HELD) == ()
