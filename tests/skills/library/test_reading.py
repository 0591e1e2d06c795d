"""A skill file with mistakes: every one told at once, each with file, step and key."""

import json
import time
from typing import Any

import pytest

from skills.core.levers import Pose
from skills.library import LibraryError, SkillText, read_skill

STEP: dict[str, Any] = {
    "code": "roll-1",
    "label": "1",
    "name": "Rock",
    "purpose": "To and fro.",
    "set_up": ["A mat."],
    "measure": "hold",
    "loads": ["support"],
    "inverted": False,
    "over_bar": False,
    "low_bar_check": False,
    "side_drill": False,
    "requires": [],
    "asks_clearance": False,
    "needs_sign_off": False,
    "recheck_days": None,
    "grades": [],
    "checkpoints": [{"code": "round", "text": "Round back."}],
    "faults": [{"code": "flat", "name": "Flat", "cue": "Round"}],
    "variants": [],
    "cautions": ["Mind the neck."],
    "getting_down": None,
    "dose": {"sets": 3, "hold_seconds": 5, "reps": 1, "rest_seconds": 10, "days_a_week": 2},
    "swap_drill": {"name": "Sit", "text": "Sit tall."},
    "trade_practice": ["rest"],
    "criterion": {"holds": {"count": 3, "seconds": 5}},
}


def file_of(*steps: dict[str, object]) -> str:
    """JSON, which is YAML too and repeats a part where YAML's own writer would point back to it."""
    return json.dumps({"skill": "roll", "name": "Roll", "purpose": "Roll.", "steps": list(steps)})


def step_with(**changes: object) -> dict[str, object]:
    return {**STEP, **changes}


def step_without(key: str) -> dict[str, object]:
    return {name: value for name, value in STEP.items() if name != key}


def problems_of(text: str) -> tuple[str, ...]:
    with pytest.raises(LibraryError) as caught:
        read_skill(text, where="roll.yaml")
    return caught.value.problems


def test_good_file_is_read():
    skill = read_skill(file_of(STEP), where="roll.yaml")
    assert isinstance(skill, SkillText)
    assert skill.steps[0].faults[0].cue == "Round"
    assert skill.steps[0].dose.hold_seconds == 5
    assert skill.steps[0].criterion == {"holds": {"count": 3, "seconds": 5}}


@pytest.mark.parametrize("key", sorted(STEP.keys() - {"code"}))
def test_each_missing_key_is_named(key):
    assert f"roll.yaml, step roll-1, {key}: is missing." in problems_of(file_of(step_without(key)))


def test_step_without_code_is_named_by_its_number():
    assert problems_of(file_of(step_without("code"))) == ("roll.yaml, steps[0].code: is missing.",)


def test_all_problems_are_told_at_once_in_the_order_of_the_form():
    broken = step_with(
        name=" ",
        measure="metres",
        inverted="yes",
        recheck_days=0,
        faults=[{"code": "flat", "name": "Flat"}],
        colour="red",
    )
    assert problems_of(file_of(broken)) == (
        "roll.yaml, step roll-1, name: must not be empty.",
        "roll.yaml, step roll-1, measure: “metres” is not one of hold, reps.",
        "roll.yaml, step roll-1, inverted: must be true or false.",
        "roll.yaml, step roll-1, recheck_days: must be a whole number from 1 to 3660.",
        "roll.yaml, step roll-1, faults[0].cue: is missing.",
        "roll.yaml, step roll-1, dose.hold_seconds: is needed for a hold, and stays empty for reps.",
        "roll.yaml, step roll-1, colour: is not a key that belongs here.",
    )


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"loads": ["flying"]}, "loads: “flying” is not one of"),
        ({"loads": "support"}, "loads: must be a list."),
        ({"set_up": []}, "set_up: must have at least 1."),
        ({"set_up": [None]}, "set_up[0]: must be a text."),
        ({"cautions": [7]}, "cautions[0]: must be a text; put a number between quotes."),
        ({"name": True}, "name: must be a text; put true and false between quotes."),
        ({"name": "\u200b \u2003"}, "name: must not be empty."),
        ({"name": "x" * 121}, "name: has 121 characters; 120 is the most."),
        ({"name": "x" * 150_000}, "name: has 150000 characters; 120 is the most."),
        ({"name": "Rock\x07"}, "name: holds a control character (U+0007); take it out."),
        ({"name": "Rock \u202eback"}, "name: holds a control character (U+202E); take it out."),
        ({"cautions": ["Mind."] * 41}, "cautions: has 41 rows; 40 is the most."),
        ({"recheck_days": 10**30}, "recheck_days: must be a whole number from 1 to 3660."),
        ({"angle": "x" * 81}, "angle: has 81 characters; 80 is the most."),
        ({"trade_practice": ["luck"]}, "trade_practice: “luck” is not one of"),
        ({"trade_practice": ["rest", "rest"]}, "trade_practice: “rest” stands here more than once."),
        ({"faults": ["flat"]}, "faults[0]: must be a mapping of keys and values."),
        ({"faults": [{**STEP["faults"][0], "dangerous": 1}]}, "faults[0].dangerous: must be true or false."),
        ({"faults": STEP["faults"] * 2}, "faults: “flat” stands here more than once."),
        ({"checkpoints": STEP["checkpoints"] * 2}, "checkpoints: “round” stands here more than once."),
        (
            {"checkpoints": [{"code": "Round Back", "text": "R."}]},
            "checkpoints[0].code: “Round Back” is not a code",
        ),
        ({"dose": {**STEP["dose"], "days_a_week": 8}}, "dose.days_a_week: must be a whole number from 1 to 7."),
        ({"dose": {**STEP["dose"], "sets": True}}, "dose.sets: must be a whole number from 1 to 100."),
        ({"dose": None}, "dose: is empty."),
        ({"swap_drill": "Sit"}, "swap_drill: must be a mapping of keys and values."),
        ({"criterion": []}, "criterion: must be a mapping"),
        ({"criterion": {"holds": {"count": 0, "seconds": 5}}}, "criterion.holds.count: "),
        ({"criterion": {"luck": 1}}, "criterion: "),
        ({"measure": "reps"}, "dose.hold_seconds: is needed for a hold"),
    ],
)
def test_wrong_value_is_named_with_its_place(changes, problem):
    told = problems_of(file_of(step_with(**changes)))
    assert any(line.startswith(f"roll.yaml, step roll-1, {problem}") for line in told), told


@pytest.mark.parametrize("key", ["inverted", "over_bar"])
def test_risky_step_must_ask_and_tell_the_way_down(key):
    told = problems_of(file_of(step_with(**{key: True, "loads": ["inversion"]})))
    reason = "because the step is inverted or goes over the bar."
    assert told == (
        f"roll.yaml, step roll-1, asks_clearance: is needed, {reason}",
        f"roll.yaml, step roll-1, needs_sign_off: is needed, {reason}",
        f"roll.yaml, step roll-1, getting_down: is needed, {reason}",
    )


def test_inverted_step_must_load_inversion():
    risky = step_with(inverted=True, asks_clearance=True, needs_sign_off=True, getting_down="Feet first.")
    assert problems_of(file_of(risky)) == (
        "roll.yaml, step roll-1, loads: must name inversion, because the step is inverted.",
    )


def test_code_and_label_used_twice_in_a_file_are_named():
    assert problems_of(file_of(STEP, STEP)) == (
        "roll.yaml, steps: “roll-1” stands here more than once.",
        "roll.yaml, steps: “1” stands here more than once.",
    )


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("skill: [", "roll.yaml, line 1, column 9: this is not YAML"),
        ("skill: a\nname: b\nskill: c\n", "roll.yaml, line 3: the key “skill” is written twice."),
        (
            "skill: &a x\nname: *a\n",
            "roll.yaml, line 2: a part marked with & is used again; write it out instead.",
        ),
        ("a: &a [*a]", "roll.yaml, line 1: a part marked with & is used again; write it out instead."),
        ("skill:\n \x00", "roll.yaml, line 2: a character stands here that YAML does not allow."),
        ("[" * 5000, "roll.yaml, line 1: things stand more than 24 deep in one another."),
        ("a:\n" + "- " * 5000, "roll.yaml, line 2: things stand more than 24 deep in one another."),
        ("[" + "1," * 40_000 + "1]", "roll.yaml, line 1: the file has more than 15000 parts."),
        ("skill: " + "x" * 200_000, "roll.yaml: the file is larger than 200 kB."),
        ("? [a]\n: b", "roll.yaml, line 1: a key must be a single word."),
        ("skill: a\n---\nskill: b", "roll.yaml, line 2, column 1: a second document begins here"),
        ("skill: !!python/name:os.system x", "roll.yaml, line 1: tags (words after !) have no place in a skill file."),
        ("", "roll.yaml: the file must be a mapping"),
        ("- one\n- two\n", "roll.yaml: the file must be a mapping"),
    ],
)
def test_text_that_is_no_skill_file_is_refused_in_one_sentence(text, problem):
    (told,) = problems_of(text)
    assert told.startswith(problem)


def test_words_of_addresses_are_no_codes():
    assert problems_of(file_of(step_with(code="order"))) == (
        "roll.yaml, step order, code: “order” cannot be a code here; choose another word.",
    )


def test_each_problem_knows_its_line():
    text = "skill: roll\nname: Roll\npurpose: Roll.\nsteps:\n  - code: roll-1\n    faults:\n      - code: Flat\n"
    with pytest.raises(LibraryError) as caught:
        read_skill(text, where="roll.yaml")
    lines = {problem.path: problem.line for problem in caught.value.found}
    assert lines["faults[0].code"] == 7
    assert lines["faults[0].name"] == 7
    assert lines["label"] == 5


@pytest.mark.parametrize("name", ["no", "off", "2026-01-01", "1:30", "0x1F", "1e9", "null-ish", "1_000"])
def test_words_that_older_yaml_takes_for_something_else_are_texts(name):
    """YAML 1.2, chapter 10.3: core words are true, false, null and decimal numbers."""
    text = file_of(STEP).replace('"name": "Rock"', f'"name": {name}')
    assert read_skill(text, where="roll.yaml").steps[0].name == name


def test_bombs_are_refused_quickly():
    """Nine lines that would be a billion laughs, a number of many digits and one long mapping."""
    laughs = "\n".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" if n else "a0: &a0 [x]" for n in range(9))
    began = time.monotonic()
    for text in (laughs, "skill: " + "9" * 190_000, "\n".join(f"k{n}: 1" for n in range(18_000)), "'" * 199_999):
        assert problems_of(text)
    assert time.monotonic() - began < 20


def test_error_prints_one_line_for_each_problem():
    with pytest.raises(LibraryError) as caught:
        read_skill("skill: roll\n", where="roll.yaml")
    assert str(caught.value).splitlines() == [
        "roll.yaml, name: is missing.",
        "roll.yaml, purpose: is missing.",
        "roll.yaml, steps: is missing.",
    ]


# ---- Where it is done, and the pose that is held --------------------------------------------------------


def test_a_step_without_station_and_pose_is_done_at_the_high_bar_and_holds_none():
    step = read_skill(file_of(STEP), where="roll.yaml").steps[0]
    assert (step.station, step.pose) == ("high_bar", None)


def test_station_and_pose_are_read():
    step = read_skill(file_of(step_with(station="rings", pose={"thigh": 0, "knee": 160})), where="roll.yaml").steps[0]
    assert (step.station, step.pose) == ("rings", Pose(0, 160))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"station": "beam"}, "station: “beam” is not one of high_bar, low_bar, rings, floor, box."),
        ({"station": None}, "station: is empty."),
        ({"pose": None}, "pose: is empty."),
        ({"pose": [90, 0]}, "pose: must be a mapping of keys and values."),
        ({"pose": {"thigh": 90}}, "pose.knee: is missing."),
        ({"pose": {"thigh": 181, "knee": 0}}, "pose.thigh: must be a whole number from 0 to 180."),
        ({"pose": {"thigh": 90, "knee": 161}}, "pose.knee: must be a whole number from 0 to 160."),
        ({"pose": {"thigh": 90.5, "knee": 0}}, "pose.thigh: must be a whole number from 0 to 180."),
        ({"pose": {"thigh": 90, "knee": True}}, "pose.knee: must be a whole number from 0 to 160."),
        ({"pose": {"thigh": 90, "knee": 0, "hip": 1}}, "pose.hip: is not a key that belongs here."),
    ],
)
def test_a_station_or_pose_that_cannot_be_is_named(changes, sentence):
    assert problems_of(file_of(step_with(**changes))) == (f"roll.yaml, step roll-1, {sentence}",)


def test_an_inverted_step_holds_no_pose():
    risky = {"inverted": True, "loads": ["inversion"], "asks_clearance": True, "needs_sign_off": True}
    step = step_with(**risky, getting_down="Feet first.", pose={"thigh": 90, "knee": 120})
    said = "pose: is left out where the step is inverted: upside down gravity closes a tuck."
    assert problems_of(file_of(step)) == (f"roll.yaml, step roll-1, {said}",)
