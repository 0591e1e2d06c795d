"""The book as it was known: criteria and steps as recorded until a moment."""

import json
from datetime import UTC, datetime, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone

from skills.core.criteria import parse
from skills.core.days import moment_us
from skills.core.standards import FULL_STANDARD
from skills.library import shipped_skills
from skills.library.writing import step_json, step_of_json
from skills.models import CriterionVersion, StepVersion
from skills.queries.books import book_known_at, book_of
from skills.queries.texts import skill_texts
from skills.services.criteria import adopt_criterion
from tests.factories.skills import library, page_of, step_of

migration = import_module("skills.migrations.0003_first_step_versions")


@pytest.fixture
def book(gym, owner):
    return library(gym, owner)


def test_rows_give_the_shipped_texts_again(gym, book):
    kept = [step for skill in skill_texts(gym.id).values() for step in skill.steps]
    shipped = [step for skill in shipped_skills() for step in skill.steps]
    assert [step_json(step) for step in kept] == [step_json(step) for step in shipped]


def test_texts_of_a_gym_take_seven_queries(gym, book, django_assert_num_queries):
    with django_assert_num_queries(7):
        skill_texts(gym.id)


def test_each_installed_step_has_its_first_version_since_ever(gym, book):
    version = StepVersion.objects.get(step__code="pullover-3a")
    assert (version.number, version.happened_at) == (1, datetime(1970, 1, 1, tzinfo=UTC))
    criterion = {"best": {"seconds": 5}}
    assert step_of_json(version.text, criterion).faults[1].dangerous
    assert StepVersion.objects.filter(gym=gym).count() == len(book.steps)


@pytest.mark.django_db(transaction=True)
def test_steps_from_before_get_the_same_first_version(gym, book):
    """As the migration writes it: the same text but for the station, recorded with the first criterion."""
    written = list(migration.first_versions(apps, gym.id, [step_of(gym, "pullover-4"), step_of(gym, "toes-4")]))
    kept = StepVersion.objects.in_bulk(
        StepVersion.objects.filter(step__in=[row.step_id for row in written]).values_list("id", flat=True)
    )
    texts = [json.loads(row.text) for row in kept.values()]
    assert [text.pop("station") for text in texts] == ["high_bar", "high_bar"]
    texts.sort(key=lambda text: str(text["code"]))
    assert sorted((json.loads(row.text) for row in written), key=lambda text: str(text["code"])) == texts
    for row in written:
        assert row.happened_at == datetime(1970, 1, 1, tzinfo=UTC)
        assert row.recorded_at == CriterionVersion.objects.get(step=row.step_id).recorded_at
    migration.write_first_versions(apps, connection.schema_editor())
    assert StepVersion.objects.filter(gym=gym).count() == len(book.steps)


def test_known_now_is_the_book(gym, book):
    known = book_known_at(gym, moment_us(timezone.now()))
    assert known.rules == book.rules
    assert known.steps == book.steps
    assert known.codes == book.codes


def test_nothing_was_known_before_the_gym_had_skills(gym, book):
    known = book_known_at(gym, moment_us(timezone.now() - timedelta(days=1)))
    assert known.rules.steps == {}


def test_a_criterion_counts_from_when_it_was_recorded(gym, book, owner):
    before = moment_us(timezone.now())
    adopt_criterion(by=owner, step=page_of(gym, "pullover-1"), criterion=parse(FULL_STANDARD))
    gym.refresh_from_db()
    assert len(book_of(gym).rules.steps["pullover-1"].criteria) == 2
    assert book_known_at(gym, before).rules == book.rules


def test_a_known_book_takes_two_queries_besides_the_book(gym, book, django_assert_num_queries):
    with django_assert_num_queries(2):
        book_known_at(gym, moment_us(timezone.now()))
