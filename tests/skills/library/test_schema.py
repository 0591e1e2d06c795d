"""The published JSON Schema and the reader say the same of a skill file."""

import json
from importlib.resources import files

import pytest
from hypothesis import given, settings
from jsonschema import Draft202012Validator

from skills.core import criteria
from skills.core.criterion_form import WORDS
from skills.library import SHIPPED, LibraryError, read_skill
from skills.library.documents import read_mapping
from skills.library.schema import LEAVES, skill_schema
from skills.library.writing import skill_yaml
from tests.library_strategies import criteria_data, skills
from tests.skills.library.test_reading import STEP, file_of, step_with, step_without

SCHEMA = json.loads(json.dumps(skill_schema()))
VALIDATOR = Draft202012Validator(SCHEMA)
RISKY = {"asks_clearance": True, "needs_sign_off": True, "getting_down": "Feet first."}


def is_valid(text: str) -> bool:
    return VALIDATOR.is_valid(read_mapping(text, where="x"))


def is_read(text: str) -> bool:
    try:
        read_skill(text, where="x")
    except LibraryError:
        return False
    return True


def test_the_schema_is_one_of_draft_2020_12_and_names_no_host():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$id"].startswith("urn:")
    assert json.dumps(SCHEMA).count("http") == 1  # the draft's own name


@pytest.mark.parametrize("slug", SHIPPED)
def test_shipped_files_fit_and_name_no_address(slug):
    text = files("skills.library").joinpath(f"{slug}.yaml").read_text(encoding="utf-8")
    assert not [*VALIDATOR.iter_errors(read_mapping(text, where=slug))]
    assert "://" not in text


@given(skills())
@settings(max_examples=40)
def test_whatever_is_written_fits(skill):
    data = read_mapping(skill_yaml(skill), where="dealt")
    assert not [*VALIDATOR.iter_errors(data)]


@given(criteria_data())
def test_a_criterion_spelled_out_fits(data):
    assert is_valid(file_of(step_with(criterion=data)))


@pytest.mark.parametrize("key", sorted(STEP))
def test_a_missing_key_fails_in_both(key):
    text = file_of(step_without(key))
    assert (is_valid(text), is_read(text)) == (False, False)


@pytest.mark.parametrize(
    "changes",
    [
        {"code": "Rock 1"},
        {"code": "change"},
        {"code": "x" * 61},
        {"label": "123456789"},
        {"name": "   "},
        {"name": "x" * 121},
        {"name": True},
        {"purpose": ["a"]},
        {"set_up": []},
        {"set_up": "A mat."},
        {"measure": "metres"},
        {"angle": ""},
        {"angle": 90},
        {"station": "beam"},
        {"station": None},
        {"pose": None},
        {"pose": {"thigh": 90}},
        {"pose": {"thigh": 181, "knee": 0}},
        {"pose": {"thigh": 90, "knee": 161}},
        {"pose": {"thigh": -1, "knee": 0}},
        {"pose": {"thigh": 90.5, "knee": 0}},
        {"pose": {"thigh": 90, "knee": 0, "hip": 1}},
        {"loads": ["flying"]},
        {"loads": ["support", "support"]},
        {"inverted": "yes"},
        {"inverted": True, "loads": ["inversion"]},
        {"inverted": True, "loads": ["inversion"], **RISKY, "getting_down": None},
        {"inverted": True, "loads": ["hanging"], **RISKY},
        {"inverted": True, "loads": ["inversion"], **RISKY, "pose": {"thigh": 90, "knee": 120}},
        {"over_bar": True, **RISKY, "needs_sign_off": False},
        {"requires": ["a", "a"]},
        {"recheck_days": 0},
        {"recheck_days": 10**20},
        {"grades": ["chin", "chin"]},
        {"checkpoints": []},
        {"checkpoints": [{"code": "a", "text": "A.", "cue": "b"}]},
        {"faults": [{"code": "a", "name": "A"}]},
        {"faults": [{"code": "a", "name": "A", "cue": "B", "dangerous": 1}]},
        {"variants": [{"code": "a"}]},
        {"cautions": ["Mind."] * 41},
        {"dose": {**STEP["dose"], "days_a_week": 8}},
        {"dose": {**STEP["dose"], "hold_seconds": None}},
        {"measure": "reps"},
        {"swap_drill": {"name": "Sit"}},
        {"trade_practice": ["luck"]},
        {"colour": "red"},
        {"criterion": {}},
        {"criterion": {"luck": 1}},
        {"criterion": {"holds": {"count": 0, "seconds": 5}}},
        {"criterion": {"holds": {"count": 1, "seconds": -5}}},
        {"criterion": {"holds": {"count": 1, "seconds": 5, "window_days": 0}}},
        {"criterion": {"holds": {"count": 1, "seconds": 5, "who": ["anybody"]}}},
        {"criterion": {"holds": {"count": 1, "seconds": 5, "luck": 1}}},
        {"criterion": {"best": {"seconds": 5, "reps": 1}}},
        {"criterion": {"best": {"seconds": 5, "unbroken": True}}},
        {"criterion": {"last": {"of": 5, "seconds": 5}}},
        {"criterion": {"last": {"clean": True, "of": 5, "seconds": 5}}},
        {"criterion": {"angle": {"count": 1}}},
        {"criterion": {"angle": {"count": 1, "at_least_degrees": 181}}},
        {"criterion": {"angle": {"count": 1, "at_least_degrees": 90, "at_most_degrees": 95}}},
        {"criterion": {"reliability": {"percent": 60, "confidence": 99, "seconds": 5}}},
        {"criterion": {"reliability": {"percent": 100, "seconds": 5}}},
        {"criterion": {"reliability": {"percent": 60}}},
        {"criterion": {"all": []}},
        {"criterion": {"at_least": {"count": 0, "of": [{"best": {"seconds": 5}}]}}},
        {"criterion": {"at_least": {"count": 1, "of": []}}},
        {"criterion": {"all": [{"all": [{"all": [{"all": [{"all": [{"all": [{"step": "a"}]}]}]}]}]}]}},
        {"criterion": {"step": " a"}},
    ],
    ids=lambda changes: json.dumps(changes)[:60],
)
def test_a_broken_step_fails_in_both(changes):
    text = file_of(step_with(**changes))
    assert (is_valid(text), is_read(text)) == (False, False)


@pytest.mark.parametrize("text", ["skill: roll", '{"skill": "import", "name": "R", "purpose": "R", "steps": []}'])
def test_a_broken_skill_fails_in_both(text):
    assert (is_valid(text), is_read(text)) == (False, False)


@pytest.mark.parametrize("word", LEAVES)
def test_a_condition_has_the_same_keys_in_both(word):
    found = [
        problem.sentence.split("the keys are ")[1].rstrip(".").split(", ")
        for body in ({"luck": 1}, {"luck": 1, "seconds": 5}, {"luck": 1, "reps": 5})
        for problem in criteria.problems({word: body})
        if problem.path.endswith(".luck")
    ]
    assert {key for keys in found for key in keys} == {*SCHEMA["$defs"][word]["properties"]}


def test_every_word_of_criteria_is_in_the_schema():
    said = {key for one in SCHEMA["$defs"]["condition1"]["oneOf"] for key in one["properties"]}
    assert said == {*WORDS}
