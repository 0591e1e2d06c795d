"""Every table has its line, and every column of text its place in one."""

import pytest
from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import connection, models

from athletes.core.kept import BARE_TABLES, OUTSIDE, TABLES, Erasing

# Apps of the libraries that need not be installed for the rest to run.
OPTIONAL_APPS = {"mfa", "usersessions"}
MODELS = {model._meta.label: model for model in apps.get_models(include_auto_created=True)}
TEXT = (models.CharField, models.TextField, models.JSONField, models.GenericIPAddressField, models.FileField)


def test_every_model_has_its_line():
    missing = MODELS.keys() - TABLES.keys()
    assert missing == set(), "say in athletes/core/kept.py what is kept there, why and how long"


def test_no_line_is_about_a_table_that_is_gone():
    stale = {label for label in TABLES.keys() - MODELS.keys() if label.split(".")[0] not in OPTIONAL_APPS}
    assert stale == set()


def test_every_table_of_the_database_has_its_line(db):
    known = {model._meta.db_table for model in MODELS.values()} | BARE_TABLES.keys()
    assert set(connection.introspection.table_names()) == known


@pytest.mark.parametrize("label", sorted(MODELS.keys() & TABLES.keys()))
def test_every_column_of_text_has_its_place(label):
    line = TABLES[label]
    texts = {
        field.name for field in MODELS[label]._meta.concrete_fields if isinstance(field, TEXT) and not field.is_relation
    }
    placed = [*line.empties, *line.codes, *line.gyms_words]
    assert len(placed) == len({*placed})
    # Beside text, erasure empties dates.
    assert texts == {name for name in placed if name in texts}, "a column of text that erasure would leave unseen"
    for name in placed:
        MODELS[label]._meta.get_field(name)


@pytest.mark.parametrize("label", sorted(MODELS.keys() & TABLES.keys()))
def test_the_ways_to_the_person_are_lookups(label):
    line = TABLES[label]
    if line.erasing is Erasing.DELETE and label != "sessions.Session":
        assert line.of
    for way in line.of:
        if way == "pk":
            continue
        model = MODELS[label]
        for step in way.split("__"):
            try:
                model = model._meta.get_field(step).related_model or model
            except FieldDoesNotExist:
                pytest.fail(f"{label}: {way} leads nowhere")
        assert model._meta.label == "athletes.Person"


@pytest.mark.parametrize("label", sorted(MODELS.keys() & TABLES.keys()))
def test_every_way_from_a_row_to_a_person_is_told(label):
    """A table that can lead to a person is about somebody."""
    ways = {
        field.related_model._meta.label
        for field in MODELS[label]._meta.concrete_fields
        if isinstance(field, models.ForeignKey)
    }
    if ways & {"athletes.Person", "athletes.Athlete"}:
        assert TABLES[label].erasing is not Erasing.NONE


@pytest.mark.parametrize("label", sorted(MODELS.keys() & TABLES.keys()))
def test_what_is_deleted_or_emptied_can_be(label):
    """The database lets nothing of an append-only table go."""
    if getattr(MODELS[label], "append_only", False):
        assert TABLES[label].erasing is Erasing.FACT


@pytest.mark.parametrize("line", [*TABLES.values(), *BARE_TABLES.values(), *OUTSIDE])
def test_a_line_reads(line):
    words = line.told_how_long(months=12, pain_days=90)
    assert all([line.what, line.about, line.why, words])
    assert "{" not in words
