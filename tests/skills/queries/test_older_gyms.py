"""Gyms from before steps could say where they are done: the steps that came with the project are told it."""

import json
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone

from skills.core.days import moment_us
from skills.core.levers import Pose
from skills.library import shipped_skills
from skills.library.writing import step_data, step_json
from skills.models import Step, StepVersion
from skills.queries.books import book_known_at, book_of
from skills.queries.texts import skill_texts
from tests.factories.skills import library, step_of

migration = import_module("skills.migrations.0009_stations_and_poses")
SHIPPED = {step.code: step for skill in shipped_skills() for step in skill.steps}


@pytest.fixture
def older(gym, owner):
    """Make the library's steps say nothing of station and pose, in the table and in their latest version."""
    library(gym, owner)
    Step.objects.filter(gym=gym).update(station="high_bar", thigh_degrees=None, knee_degrees=None)
    now = timezone.now()
    for step in Step.objects.filter(gym=gym):
        append(gym, step, without_station(SHIPPED[step.code]), now)
    return gym


def without_station(text):
    return {key: value for key, value in step_data(text).items() if key not in ("station", "pose")}


def append(gym, step, text, now):
    number = 1 + StepVersion.objects.filter(step=step).count()
    return StepVersion.objects.create(
        gym=gym, step=step, number=number, text=json.dumps(text), happened_at=now, recorded_at=now
    )


def migrate():
    migration.say_where_and_how(apps, connection.schema_editor())


def latest(code):
    return StepVersion.objects.filter(step__code=code).order_by("-number").first()


def test_the_steps_that_came_with_the_project_say_it_as_the_library_does(older):
    migrate()
    kept = [step for skill in skill_texts(older.id).values() for step in skill.steps]
    assert {step.code: step_json(step) for step in kept} == {code: step_json(step) for code, step in SHIPPED.items()}
    assert {code: latest(code).text for code in migration.CAME_WITH} == {
        code: step_json(SHIPPED[code]) for code in migration.CAME_WITH
    }


def test_a_book_as_known_before_says_nothing_of_it_and_one_of_now_does(older):
    before = moment_us(timezone.now())
    stamp = older.rules_stamp
    migrate()
    older.refresh_from_db()
    assert older.rules_stamp != stamp
    page = book_of(older).steps["l-hold-4"]
    assert (page.station, page.pose) == ("floor", Pose(90, 0))
    known = book_known_at(older, before).steps["l-hold-4"]
    assert (known.station, known.pose) == ("high_bar", None)
    assert book_known_at(older, moment_us(timezone.now())).steps == book_of(older).steps


def test_a_second_time_changes_nothing(older):
    migrate()
    count = StepVersion.objects.count()
    migrate()
    assert StepVersion.objects.count() == count


@pytest.mark.parametrize("own", ["name", "set_up", "measure"])
def test_what_the_gym_made_its_own_is_left_alone(older, own):
    step = step_of(older, "l-hold-4")
    text = without_station(SHIPPED["l-hold-4"])
    if own == "set_up":
        append(older, step, {**text, "set_up": ["Between two boxes of the gym."]}, timezone.now())
    else:
        setattr(step, own, {"name": "Long sit between the boxes", "measure": "reps"}[own])
        step.save()
    migrate()
    step.refresh_from_db()
    assert (step.station, step.thigh_degrees) == ("high_bar", None)
    assert "station" not in json.loads(latest("l-hold-4").text)


def test_a_step_that_says_that_it_is_at_a_high_bar_stays_there(older):
    step = step_of(older, "ring-1")
    append(older, step, {**without_station(SHIPPED["ring-1"]), "station": "high_bar"}, timezone.now())
    migrate()
    step.refresh_from_db()
    assert step.station == "high_bar"
