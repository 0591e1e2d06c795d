"""Skills written as text and read again: nothing is lost, and the second text is the first to the byte."""

import json
from dataclasses import replace
from importlib.resources import files

import pytest
from hypothesis import given, settings

from skills.core import criteria
from skills.core.levers import Pose
from skills.library import SHIPPED, read_skill, shipped_skills
from skills.library.texts import SkillText, VariantText
from skills.library.writing import brief, skill_yaml, step_data, step_json, step_of_json
from tests.library_strategies import criteria_data, skills

STEPS = [step for skill in shipped_skills() for step in skill.steps]


@pytest.mark.parametrize("slug", SHIPPED)
def test_a_shipped_file_is_what_writing_it_gives(slug):
    text = files("skills.library").joinpath(f"{slug}.yaml").read_text(encoding="utf-8")
    assert skill_yaml(read_skill(text, where=slug)) == text


@given(skills())
@settings(max_examples=60)
def test_any_skill_survives_its_file(skill):
    text = skill_yaml(skill)
    read = read_skill(text, where="dealt.yaml")
    assert skill_yaml(read) == text
    assert (read.skill, read.name, read.purpose) == (skill.skill, skill.name, skill.purpose)
    for ours, theirs in zip(read.steps, skill.steps, strict=True):
        assert step_json(ours) == step_json(theirs)
        assert criteria.parse(ours.criterion) == criteria.parse(theirs.criterion)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.code)
def test_the_json_of_a_step_gives_the_step_again(step):
    assert step_of_json(step_json(step), step.criterion) == step


def test_a_skill_without_steps_has_a_file():
    text = "skill: roll\nname: Roll\npurpose: Roll.\nsteps: []\n"
    assert skill_yaml(read_skill(text, where="roll.yaml")) == text


@given(criteria_data())
def test_a_criterion_in_brief_is_the_same_criterion(data):
    assert criteria.parse(brief(data)) == criteria.parse(data)


def test_what_goes_without_saying_is_not_written():
    whole = criteria.to_data(criteria.parse({"holds": {"count": 3, "seconds": 5, "dates": 2}}))
    assert brief(whole) == {"holds": {"count": 3, "seconds": 5, "dates": 2}}


def test_where_it_is_done_and_the_pose_stand_beside_what_they_belong_to():
    step = replace(STEPS[0], station="rings", pose=Pose(90, 0))
    data = step_data(step)
    assert (data["station"], data["pose"]) == ("rings", {"thigh": 90, "knee": 0})
    keys = [*data]
    assert keys[keys.index("set_up") + 1] == "station"
    assert keys[keys.index("measure") + 1] == "pose"
    assert "pose" not in step_data(replace(step, pose=None))


def test_a_version_that_was_kept_before_there_were_stations_is_read():
    data = json.loads(step_json(STEPS[0]))
    old = {key: value for key, value in data.items() if key not in ("station", "pose")}
    step = step_of_json(json.dumps(old), STEPS[0].criterion)
    assert step == replace(STEPS[0], station="high_bar", pose=None)


@pytest.mark.parametrize("code", ["08", "1", "1.50", "true", "null", "off", "0x1", "1e3", "2026-01-01"])
def test_a_code_that_looks_like_something_else_stays_a_text(code):
    skill = SkillText("roll", "Roll", "Roll.", (replace(STEPS[0], requires=(), variants=(VariantText("08", code),)),))
    assert read_skill(skill_yaml(skill), where="roll.yaml").steps[0].variants == (VariantText("08", code),)
