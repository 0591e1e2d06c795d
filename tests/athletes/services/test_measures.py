"""Noting what was measured of a body."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from athletes.models import AuditEntry, BodyMeasure, Person
from athletes.queries.bodies import BodyNotes, Noted, body_history, body_notes, body_notes_of
from athletes.services.erasure import AlreadyErased
from athletes.services.measures import (
    BodyEntry,
    MassOfMinor,
    MeasuredInFuture,
    NothingMeasured,
    OutsideRange,
    note_body,
)
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_measure

DAY = date(2026, 1, 12)


def entry(measured_on: date = DAY, **values: str) -> BodyEntry:
    measured: dict[str, Any] = {part: Decimal(value) for part, value in values.items()}
    return BodyEntry(measured_on, **measured)


def test_of_each_part_the_newest_value_holds(coach, athlete):
    note_body(by=coach, athlete=athlete, entry=entry(stature_m="1.720", chest_m="1.240"))
    note_body(by=coach, athlete=athlete, entry=entry(DAY + timedelta(days=9), chest_m="1.250", reach_m="2.080"))
    note_body(by=coach, athlete=athlete, entry=entry(DAY - timedelta(days=9), chest_m="1.200", mass_kg="68.5"))
    assert body_notes_of(athlete) == BodyNotes(
        stature_m=Noted(Decimal("1.720"), DAY),
        mass_kg=Noted(Decimal("68.50"), DAY - timedelta(days=9)),
        chest_m=Noted(Decimal("1.250"), DAY + timedelta(days=9)),
        reach_m=Noted(Decimal("2.080"), DAY + timedelta(days=9)),
    )


def test_the_second_of_one_day_puts_the_first_right(coach, athlete):
    for metres in ("1.420", "1.240"):
        note_body(by=coach, athlete=athlete, entry=entry(chest_m=metres))
    chest = body_notes_of(athlete).chest_m
    assert chest is not None
    assert chest.mm == 1240


def test_noting_says_which_parts_and_no_value(coach, athlete):
    note_body(by=coach, athlete=athlete, entry=entry(stature_m="1.720", mass_kg="68.5"))
    act = AuditEntry.objects.get()
    assert act.act == "body_measured"
    assert '"parts":["mass_kg","stature_m"]' in act.content
    assert "68" not in act.content.replace(str(athlete.id), "")


def test_the_same_id_twice_is_one_measure(coach, athlete):
    twice = BodyEntry(DAY, stature_m=Decimal("1.720"), id=new_id())
    assert note_body(by=coach, athlete=athlete, entry=twice) == note_body(by=coach, athlete=athlete, entry=twice)
    assert BodyMeasure.objects.count() == AuditEntry.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "refusal", "words"),
    [
        ({}, NothingMeasured, "at least one"),
        ({"stature_m": "2.501"}, OutsideRange, "between 0.8 m and 2.5 m"),
        ({"stature_m": "1.750", "chest_m": "0.900"}, OutsideRange, "chest of somebody of 1.75 m is between 1.05 m"),
        ({"reach_m": "3.501"}, OutsideRange, "reach to the grip is between 0.84 m and 3.5 m"),
        ({"chest_m": "1.300", "armpit_m": "1.200"}, OutsideRange, "armpit is between 1.3 m"),
        ({"mass_kg": "400"}, OutsideRange, "between 15 and 250 kg"),
    ],
)
def test_what_no_body_has_is_refused_with_the_range(coach, athlete, values, refusal, words):
    with pytest.raises(refusal, match=words):
        note_body(by=coach, athlete=athlete, entry=entry(**values))
    assert not BodyMeasure.objects.exists()


def test_a_part_is_held_against_the_stature_that_is_known(coach, athlete):
    note_body(by=coach, athlete=athlete, entry=entry(stature_m="1.750"))
    with pytest.raises(OutsideRange, match=r"1\.75 m"):
        note_body(by=coach, athlete=athlete, entry=entry(chest_m="1.600"))


def test_ranges_are_said_in_the_units_of_the_gym(coach, athlete):
    athlete.gym.units = "imperial"
    with pytest.raises(OutsideRange, match="between 2 ft 7 in and 8 ft 2 in"):
        note_body(by=coach, athlete=athlete, entry=entry(stature_m="2.600"))


def test_a_day_that_has_not_come_is_refused(coach, athlete):
    with pytest.raises(MeasuredInFuture):
        note_body(by=coach, athlete=athlete, entry=entry(timezone.localdate() + timedelta(days=2), stature_m="1.720"))


def test_a_minors_mass_is_neither_taken_nor_read(coach, minor):
    with pytest.raises(MassOfMinor):
        note_body(by=coach, athlete=minor, entry=entry(stature_m="1.520", mass_kg="41"))
    make_measure(minor, stature_m="1.520", mass_kg="41.00")
    assert body_notes_of(minor).mass_kg is None
    assert [part for line in body_history(minor) for part, _ in line.values] == ["stature_m"]


def test_nothing_is_noted_of_who_was_erased(coach, athlete):
    Person.objects.filter(pk=athlete.person_id).update(erased_at=timezone.now())
    with pytest.raises(AlreadyErased):
        note_body(by=coach, athlete=athlete, entry=entry(stature_m="1.720"))


def test_many_bodies_are_read_in_one_query(coach, athlete, minor, django_assert_num_queries):
    for who in (athlete, minor):
        make_measure(who)
        make_measure(who)
    with django_assert_num_queries(1):
        found = body_notes([athlete, minor])
    assert {key: bool(notes.stature_m) for key, notes in found.items()} == {athlete.id: True, minor.id: True}
