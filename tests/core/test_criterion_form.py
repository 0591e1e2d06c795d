"""The written form of a criterion: what is read, what is refused and where, and that it goes round."""

import json
from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.criteria import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    BestOf,
    Counting,
    CriterionError,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
    canonical,
    parse,
    problems,
    to_data,
)

SPELLED = Counting(
    window_days=14,
    sessions=1,
    dates=2,
    clean=False,
    assistance=frozenset({"none", "band"}),
    variants=False,
    who=frozenset({"own", "judged"}),
    grade_at_least=2,
)
SPELLED_FORM = {
    "window_days": 14,
    "sessions": 1,
    "dates": 2,
    "clean": False,
    "assistance": ["band", "none"],
    "variants": False,
    "who": ["judged", "own"],
    "grade_at_least": 2,
}
USUAL_FORM = {
    "window_days": None,
    "sessions": 1,
    "dates": 1,
    "clean": True,
    "assistance": ["none"],
    "variants": True,
    "who": ["judged"],
    "grade_at_least": 0,
}


@pytest.mark.parametrize(
    ("form", "criterion"),
    [
        ({"holds": {"count": 3, "seconds": 5}}, HoldsOf(3, 50)),
        ({"holds": {"count": 3, "seconds": "5.5", **SPELLED_FORM}}, HoldsOf(3, 55, SPELLED)),
        ({"reps": {"count": 2, "reps": 3}}, RepsOf(2, 3, unbroken=False)),
        ({"reps": {"count": 2, "reps": 3, "unbroken": True, **SPELLED_FORM}}, RepsOf(2, 3, True, SPELLED)),  # noqa: FBT003
        ({"best": {"seconds": 20}}, BestOf(HoldTarget(200))),
        ({"best": {"reps": 5}}, BestOf(RepsTarget(5, unbroken=False))),
        ({"best": {"reps": 5, "unbroken": True}}, BestOf(RepsTarget(5, unbroken=True))),
        ({"last": {"clean": 3, "of": 5, "seconds": 5}}, LastOf(3, 5, HoldTarget(50))),
        ({"last": {"clean": 3, "of": 5, "reps": 4}}, LastOf(3, 5, RepsTarget(4, unbroken=False))),
        ({"angle": {"count": 1, "at_least_degrees": 90}}, AngleOf(1, 90, "at_least", 0)),
        ({"angle": {"count": 1, "at_most_degrees": 0, "seconds": None}}, AngleOf(1, 0, "at_most", 0)),
        (
            {"angle": {"count": 2, "at_most_degrees": 180, "seconds": "2.5", **SPELLED_FORM}},
            AngleOf(2, 180, "at_most", 25, SPELLED),
        ),
        ({"reliability": {"percent": 60, "seconds": 5}}, ReliabilityOf(60, 90, HoldTarget(50), None)),
        (
            {"reliability": {"percent": 60, "confidence": 95, "reps": 3, "of": 10, **SPELLED_FORM}},
            ReliabilityOf(60, 95, RepsTarget(3, unbroken=False), 10, SPELLED),
        ),
        (
            {"at_least": {"count": 2, "of": [{"step": "a"}, {"step": "b"}, {"any": [{"step": "c"}]}]}},
            AtLeastOf(2, (StepPassed("a"), StepPassed("b"), AnyOf((StepPassed("c"),)))),
        ),
        ({"step": "pullover-1"}, StepPassed("pullover-1")),
        (
            {"all": [{"step": "a"}, {"any": [{"step": "b"}, {"best": {"seconds": 5}}]}]},
            AllOf((StepPassed("a"), AnyOf((StepPassed("b"), BestOf(HoldTarget(50)))))),
        ),
    ],
)
def test_written_form_is_read(form, criterion):
    assert parse(form) == criterion
    assert problems(form) == ()


@pytest.mark.parametrize(
    ("seconds", "tenths"),
    [
        (5, 50),
        ("5", 50),
        ("5.5", 55),
        (5.5, 55),
        (5.0, 50),
        (Decimal("5.5"), 55),
        ("5.50", 55),
        (0.1, 1),
        (3600, 36000),
    ],
)
def test_seconds_may_have_one_decimal(seconds, tenths):
    assert parse({"holds": {"count": 1, "seconds": seconds}}) == HoldsOf(1, tenths)


@pytest.mark.parametrize(
    ("criterion", "form"),
    [
        (HoldsOf(3, 50), {"holds": {"count": 3, "seconds": 5, **USUAL_FORM}}),
        (HoldsOf(3, 55, SPELLED), {"holds": {"count": 3, "seconds": "5.5", **SPELLED_FORM}}),
        (RepsOf(2, 3, unbroken=True), {"reps": {"count": 2, "reps": 3, "unbroken": True, **USUAL_FORM}}),
        (BestOf(HoldTarget(200)), {"best": {"seconds": 20, **USUAL_FORM}}),
        (
            LastOf(3, 5, RepsTarget(4, unbroken=True)),
            {"last": {**USUAL_FORM, "clean": 3, "of": 5, "reps": 4, "unbroken": True}},
        ),
        (
            AngleOf(1, 90, "at_least", 0),
            {"angle": {"count": 1, "at_least_degrees": 90, "seconds": None, **USUAL_FORM}},
        ),
        (
            AngleOf(1, 30, "at_most", 50),
            {"angle": {"count": 1, "at_most_degrees": 30, "seconds": 5, **USUAL_FORM}},
        ),
        (
            ReliabilityOf(60, 90, HoldTarget(50), None),
            {"reliability": {"percent": 60, "confidence": 90, "of": None, "seconds": 5, **USUAL_FORM}},
        ),
        (
            AtLeastOf(1, (StepPassed("a"), StepPassed("b"))),
            {"at_least": {"count": 1, "of": [{"step": "a"}, {"step": "b"}]}},
        ),
        (AnyOf((StepPassed("a"), StepPassed("b"))), {"any": [{"step": "a"}, {"step": "b"}]}),
    ],
)
def test_full_written_form_spells_every_key_out(criterion, form):
    assert to_data(criterion) == form
    assert parse(form) == criterion


def test_canonical_text_is_sorted_compact_and_ascii():
    assert canonical(AllOf((StepPassed("füße"), BestOf(HoldTarget(25))))) == (
        '{"all":[{"step":"f\\u00fc\\u00dfe"},{"best":{"assistance":["none"],"clean":true,"dates":1,'
        '"grade_at_least":0,"seconds":"2.5","sessions":1,"variants":true,"who":["judged"],"window_days":null}}]}'
    )


WHICH = "Write one condition here: holds, reps, best, last, reliability, angle, step, all, any, at_least."


@pytest.mark.parametrize(
    ("form", "path", "sentence"),
    [
        (None, "", WHICH),
        ({}, "", WHICH),
        ({"hold": {}}, "", WHICH),
        ({"step": "a", "best": {}}, "", WHICH),
        ({"holds": [3, 5]}, "holds", "Write the fields of holds here, not [3, 5]."),
        ({"holds": {"seconds": 5}}, "holds.count", "This is missing. Write a whole number from 1 to 1000."),
        ({"holds": {"count": 0, "seconds": 5}}, "holds.count", "Write a whole number from 1 to 1000, not 0."),
        ({"holds": {"count": 1001, "seconds": 5}}, "holds.count", "Write a whole number from 1 to 1000, not 1001."),
        ({"holds": {"count": "3", "seconds": 5}}, "holds.count", "Write a whole number from 1 to 1000, not '3'."),
        ({"holds": {"count": True, "seconds": 5}}, "holds.count", "Write a whole number from 1 to 1000, not True."),
        (
            {"holds": {"count": 1 << 20_000, "seconds": 5}},
            "holds.count",
            "Write a whole number from 1 to 1000, not so large a number.",
        ),
        (
            {"holds": {"count": 3}},
            "holds.seconds",
            "This is missing. Write seconds from 0.1 to 3600, with at most one decimal.",
        ),
        *(
            (
                {"holds": {"count": 3, "seconds": seconds}},
                "holds.seconds",
                f"Write seconds from 0.1 to 3600, with at most one decimal, not {seconds!r}.",
            )
            for seconds in (0, -5, 3601, 5.55, "5.55", "five", "", True, float("nan"), float("inf"), [5], "٥")
        ),
        (
            {"all": [{"step": "a"}, {"holds": {"count": 3, "seconds": 5, "secnds": 5}}]},
            "all[1].holds.secnds",
            (
                "This key is not known here; the keys are assistance, clean, count, dates, grade_at_least, "
                "seconds, sessions, variants, who, window_days."
            ),
        ),
        (
            {"all": [{"any": [{"best": {"seconds": "x"}}]}]},
            "all[0].any[0].best.seconds",
            "Write seconds from 0.1 to 3600, with at most one decimal, not 'x'.",
        ),
        ({"all": []}, "all", "Write a list of one or more conditions."),
        ({"any": {"step": "a"}}, "any", "Write a list of one or more conditions."),
        ({"any": ["a"]}, "any[0]", WHICH),
        (
            {"angle": {"count": 1, "at_least_degrees": 181}},
            "angle.at_least_degrees",
            "Write a whole number from 0 to 180, not 181.",
        ),
        (
            {"angle": {"count": 1, "at_least_degrees": 9, "at_most_degrees": 9}},
            "angle",
            "Write either at_least_degrees or at_most_degrees.",
        ),
        ({"angle": {"count": 1}}, "angle", "Write either at_least_degrees or at_most_degrees."),
        (
            {"angle": {"count": 1, "at_most_degrees": 30, "seconds": 0}},
            "angle.seconds",
            "Write seconds from 0.1 to 3600, with at most one decimal, not 0.",
        ),
        (
            {"reliability": {"percent": 100, "seconds": 5}},
            "reliability.percent",
            "Write a whole number from 1 to 99, not 100.",
        ),
        (
            {"reliability": {"percent": 60, "confidence": 99, "seconds": 5}},
            "reliability.confidence",
            "Write one of 80, 90, 95, not 99.",
        ),
        ({"reliability": {"percent": 60}}, "reliability", "Write either seconds or reps."),
        # n needed for a lower end of L, all clean: the ceiling of z² L / (1 - L); at 90 % and L = 0.8 that is 11.
        (
            {"reliability": {"percent": 80, "confidence": 90, "seconds": 5, "of": 10}},
            "reliability.of",
            "10 tries, all of them clean, can never show 80 %: it takes at least 11.",
        ),
        (
            {"reliability": {"percent": 60, "seconds": 5, "of": 10, "sessions": 11}},
            "reliability.sessions",
            "11 sessions can never be reached with 10 counted.",
        ),
        ({"at_least": [{"step": "a"}]}, "at_least", "Write the fields of at_least here, not [{'step': 'a'}]."),
        ({"at_least": {"count": 1, "of": []}}, "at_least.of", "Write a list of one or more conditions."),
        ({"at_least": {"count": 1}}, "at_least.of", "Write a list of one or more conditions."),
        (
            {"at_least": {"of": [{"step": "a"}]}},
            "at_least.count",
            "This is missing. Write a whole number from 1 to 1000.",
        ),
        (
            {"at_least": {"count": 3, "of": [{"step": "a"}, {"step": "b"}]}},
            "at_least.count",
            "3 of 2 can never be reached.",
        ),
        ({"at_least": {"count": 1, "of": [{"step": 3}]}}, "at_least.of[0].step", "Write the code of a step, not 3."),
        (
            {"at_least": {"count": 1, "of": [{"step": "a"}], "window_days": 3}},
            "at_least.window_days",
            "This key is not known here; the keys are count, of.",
        ),
        # Five sessions within two days, with one session a day, can never be.
        (
            {"all": [{"holds": {"count": 5, "seconds": 5, "sessions": 5, "window_days": 2}}]},
            "all[0].holds.sessions",
            "5 sessions can never lie within 2 days, with one session a day.",
        ),
        ({"step": 3}, "step", "Write the code of a step, not 3."),
        ({"step": ""}, "step", "Write the code of a step, not ''."),
        ({"step": " a"}, "step", "Write the code of a step, not ' a'."),
        ({"best": {}}, "best", "Write either seconds or reps."),
        ({"best": {"seconds": 5, "reps": 5}}, "best", "Write either seconds or reps."),
        ({"last": {"clean": 6, "of": 5, "seconds": 5}}, "last.clean", "6 of the last 5 can never be reached."),
        (
            {"last": {"clean": True, "of": 5, "seconds": 5}},
            "last.clean",
            "Write a whole number from 1 to 1000, not True.",
        ),
        ({"best": {"reps": 5, "unbroken": 1}}, "best.unbroken", "Write true or false, not 1."),
        ({"best": {"seconds": 5, "clean": "yes"}}, "best.clean", "Write true or false, not 'yes'."),
        ({"best": {"seconds": 5, "assistance": []}}, "best.assistance", "Write a list of one or more words, not []."),
        (
            {"best": {"seconds": 5, "assistance": "none"}},
            "best.assistance",
            "Write a list of one or more words, not 'none'.",
        ),
        (
            {"best": {"seconds": 5, "assistance": [""]}},
            "best.assistance",
            "Write a list of one or more words, not [''].",
        ),
        (
            {"best": {"seconds": 5, "who": ["judged", "parents"]}},
            "best.who",
            "Write a list of one or more words from judged, counted, timed_only, own, not ['judged', 'parents'].",
        ),
        (
            {"best": {"seconds": 5, "grade_at_least": -1}},
            "best.grade_at_least",
            "Write a whole number from 0 to 1000, not -1.",
        ),
        ({"best": {"seconds": 5, "window_days": 0}}, "best.window_days", "Write a whole number from 1 to 3660, not 0."),
        (
            {"holds": {"count": 3, "seconds": 5, "sessions": 4}},
            "holds.sessions",
            "4 sessions can never be reached with 3 counted.",
        ),
        ({"reps": {"count": 1, "reps": 5, "dates": 2}}, "reps.dates", "2 days can never be reached with 1 counted."),
        ({"best": {"seconds": 5, "dates": 2}}, "best.dates", "2 days can never be reached with 1 counted."),
        (
            {"last": {"clean": 1, "of": 2, "seconds": 5, "sessions": 3}},
            "last.sessions",
            "3 sessions can never be reached with 2 counted.",
        ),
        (
            {"holds": {"count": 9, "seconds": 5, "window_days": 2, "dates": 3}},
            "holds.dates",
            "3 days can never lie within 2 days.",
        ),
    ],
)
def test_mistake_is_named_with_its_place(form, path, sentence):
    with pytest.raises(CriterionError) as refused:
        parse(form)
    assert (refused.value.path, refused.value.sentence) == (path, sentence)
    assert [(problem.path, problem.sentence) for problem in refused.value.problems] == [(path, sentence)]
    assert str(refused.value) == (f"{path}: {sentence}" if path else sentence)


def test_all_mistakes_are_told_at_once():
    form = {"all": [{"holds": {"seconds": "x", "colour": 1}}, {"steps": []}, {"step": ""}]}
    assert [problem.path for problem in problems(form)] == [
        "all[0].holds.count",
        "all[0].holds.seconds",
        "all[0].holds.colour",
        "all[1]",
        "all[2].step",
    ]
    with pytest.raises(CriterionError) as refused:
        parse(form)
    assert str(refused.value).count("\n") == 4


def test_as_many_days_as_the_window_has_can_be_reached():
    form = {"holds": {"count": 3, "seconds": 5, "window_days": 3, "dates": 3, "sessions": 3}}
    assert parse(form) == HoldsOf(3, 50, Counting(window_days=3, dates=3, sessions=3))


def nested(levels):
    form: dict[str, object] = {"step": "a"}
    for _ in range(levels - 1):
        form = {"all": [form]}
    return form


def test_conditions_stand_at_most_six_deep():
    assert problems(nested(6)) == ()
    assert [str(problem) for problem in problems(nested(7))] == [
        "all[0].all[0].all[0].all[0].all[0].all[0]: Conditions stand at most 6 deep in one another."
    ]
    assert len(problems(nested(2000))) == 1


def test_at_least_counts_as_a_level():
    assert problems({"at_least": {"count": 1, "of": [nested(5)]}}) == ()
    assert [problem.path for problem in problems({"at_least": {"count": 1, "of": [nested(6)]}})] == [
        "at_least.of[0].all[0].all[0].all[0].all[0].all[0]"
    ]


def test_no_more_than_a_page_of_mistakes_is_told_however_much_is_wrong():
    branch: dict[str, object] = {"all": ["bad"] * 1000}
    for _ in range(4):
        branch = {"all": [branch] * 1000}
    assert len(problems(branch)) == 100
    wide: dict[str, object] = {"any": [{"step": "a"}] * 41}
    for _ in range(4):
        wide = {"any": [wide] * 1000}
    assert len(problems(wide)) == 1


def test_criterion_has_at_most_forty_leaves():
    assert problems({"any": [{"step": "a"}] * 40}) == ()
    assert [str(problem) for problem in problems({"any": [{"step": "a"}] * 90})] == [
        "any[40].step: A criterion has at most 40 conditions."
    ]


countings = st.builds(
    Counting,
    window_days=st.none() | st.integers(3, 3660),
    sessions=st.integers(1, 3),
    dates=st.integers(1, 3),
    assistance=st.frozensets(st.sampled_from(["none", "band", "spot"]), min_size=1),
    variants=st.booleans(),
    who=st.frozensets(st.sampled_from(["judged", "counted", "timed_only", "own"]), min_size=1),
    grade_at_least=st.integers(0, 5),
)
targets = st.builds(HoldTarget, st.integers(1, 36_000)) | st.builds(RepsTarget, st.integers(1, 1000), st.booleans())
condition_leaves = st.one_of(
    st.builds(HoldsOf, st.integers(3, 9), st.integers(1, 36_000), countings),
    st.builds(RepsOf, st.integers(3, 9), st.integers(1, 9), st.booleans(), countings),
    st.builds(BestOf, targets, st.builds(Counting, clean=st.booleans())),
    st.builds(LastOf, st.integers(1, 3), st.integers(3, 9), targets, countings),
    st.builds(
        AngleOf,
        st.integers(3, 9),
        st.integers(0, 180),
        st.sampled_from(["at_least", "at_most"]),
        st.just(0) | st.integers(1, 36_000),
        countings,
    ),
    st.builds(
        ReliabilityOf,
        st.integers(1, 99),
        st.sampled_from([80, 90, 95]),
        targets,
        st.none() | st.integers(3, 1000),
        countings,
    ),
    st.builds(StepPassed, st.text(min_size=1).filter(lambda code: code == code.strip())),
)
trees = st.recursive(
    condition_leaves,
    lambda parts: st.builds(
        lambda kind, several: kind(tuple(several)),
        st.sampled_from([AllOf, AnyOf, partial(AtLeastOf, 1)]),
        st.lists(parts, min_size=1, max_size=3),
    ),
    max_leaves=6,
).filter(lambda tree: not problems(to_data(tree)))


@given(trees)
def test_criterion_goes_round_through_its_written_form_and_through_json(criterion):
    assert parse(to_data(criterion)) == criterion
    assert parse(json.loads(canonical(criterion))) == criterion
    assert canonical(parse(json.loads(canonical(criterion)))) == canonical(criterion)


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda parts: (
        st.lists(parts, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                [
                    "holds",
                    "best",
                    "reliability",
                    "angle",
                    "at_least",
                    "of",
                    "all",
                    "any",
                    "step",
                    "count",
                    "seconds",
                    "who",
                ]
            ),
            parts,
        )
    ),
    max_leaves=8,
)


@given(anything)
def test_whatever_is_written_is_read_or_refused_with_a_sentence(form):
    found = problems(form)
    assert all(problem.sentence.endswith(".") for problem in found)
    assert found or parse(json.loads(canonical(parse(form)))) == parse(form)


def test_a_stored_criterion_that_can_never_be_met_still_stands():
    narrow = {"holds": {"count": 3, "seconds": 20, "sessions": 3, "window_days": 2}}
    with pytest.raises(CriterionError, match="can never lie within 2 days"):
        parse(narrow)
    stands = parse(narrow, stored=True)
    assert isinstance(stands, HoldsOf)
    assert (stands.counting.sessions, stands.counting.window_days) == (3, 2)
    with pytest.raises(CriterionError):
        parse({"holds": {"count": 3, "seconds": -1}}, stored=True)
