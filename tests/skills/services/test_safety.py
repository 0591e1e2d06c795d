"""Risk notes read, incidents, equipment: once whatever the number of calls, with a sentence for every refusal."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import Athlete, AuditEntry, Membership, Remark
from skills.models import EquipmentCheck, Incident, IncidentNote, RiskRead, Step
from skills.queries.risk_notes import has_read, notes_of, unread_notes
from skills.queries.safety import equipment_now
from skills.services.safety import (
    CheckEntry,
    IncidentEntry,
    NotesChanged,
    add_incident_note,
    check_equipment,
    log_incident,
    read_risk_notes,
)
from skills.services.sessions import end_session, start_session
from tests.factories.skills import library, log, step_of


@pytest.fixture(autouse=True)
def _skills(athlete: Athlete, owner: Membership) -> None:
    library(athlete.gym, owner)


def acts(act: str) -> int:
    return AuditEntry.objects.filter(act=act).count()


# ---- Risk notes -------------------------------------------------------------------------------------------


def test_notes_are_read_once_a_coach_and_version(coach: Membership, coach_two: Membership, athlete: Athlete) -> None:
    step = step_of(athlete.gym, "pullover-6")
    notes = notes_of(step)
    for _ in range(2):
        read_risk_notes(by=coach, step=step, digest=notes.digest)
    assert (RiskRead.objects.count(), acts("risk_notes_read")) == (1, 1)
    assert (has_read(coach, notes), has_read(coach_two, notes)) == (True, False)
    Step.objects.filter(pk=step.pk).update(set_up=["Something else."])
    changed = notes_of(step_of(athlete.gym, "pullover-6"))
    assert not has_read(coach, changed)
    with pytest.raises(NotesChanged):
        read_risk_notes(by=coach, step=changed.step, digest=notes.digest)


def test_a_step_without_such_a_risk_is_not_asked(coach: Membership, athlete: Athlete) -> None:
    assert has_read(coach, notes_of(step_of(athlete.gym, "pullover-1")))


def test_today_asks_for_risky_steps_of_late_and_of_classes_that_run(coach_two: Membership, athlete: Athlete) -> None:
    now = timezone.now()
    assert unread_notes(coach_two, now) == []
    session = start_session(by=coach_two, name="Monday", focus=step_of(athlete.gym, "pullover-6"))
    assert [notes.step.code for notes in unread_notes(coach_two, now)] == ["pullover-6"]
    (asked,) = unread_notes(coach_two, now)
    read_risk_notes(by=coach_two, step=asked.step, digest=asked.digest)
    assert unread_notes(coach_two, now) == []
    end_session(by=coach_two, session=session)


def test_a_skill_that_was_worked_on_within_four_weeks_is_likely(
    coach: Membership, coach_two: Membership, athlete: Athlete
) -> None:
    log(coach, athlete, "pullover-1", 5.0)
    now = timezone.now()
    unread = [notes.step for notes in unread_notes(coach_two, now)]
    assert {step.skill.slug for step in unread} == {"bar-pullover"}
    assert {"pullover-3a", "pullover-6"} <= {step.code for step in unread}
    assert "pullover-1" not in {step.code for step in unread}  # neither inverts nor goes over the bar
    assert unread_notes(coach_two, now + timedelta(days=40)) == []


# ---- Incidents --------------------------------------------------------------------------------------------


def entry(athlete: Athlete | None = None, **more: object) -> IncidentEntry:
    said = {"kind": "fall", "happened_at": timezone.now(), "words": "Slipped off in the swing, landed on the mat."}
    return IncidentEntry(**{**said, "athlete": athlete, **more})  # type: ignore[arg-type]


def test_an_incident_is_logged_once_and_its_words_belong_to_whom_it_is_about(
    coach: Membership, athlete: Athlete
) -> None:
    told = entry(athlete, first_aid=True)
    row = log_incident(by=coach, entry=told)
    assert log_incident(by=coach, entry=told) == row
    note = add_incident_note(by=coach, incident=row, words="  Back the next day, all well. ")
    assert add_incident_note(by=coach, incident=row, words="again", note_id=note.id) == note
    assert (Incident.objects.count(), IncidentNote.objects.count()) == (1, 1)
    assert {(text.about, text.text, text.subject) for text in Remark.objects.all()} == {
        (row.id, told.words, athlete.person),
        (note.id, "Back the next day, all well.", athlete.person),
    }
    assert (acts("incident_logged"), acts("incident_note_added")) == (1, 1)
    assert all("Slipped" not in each.content for each in AuditEntry.objects.all())


def test_an_incident_without_anybody_has_words_about_nobody(coach: Membership) -> None:
    log_incident(by=coach, entry=entry())
    assert Remark.objects.get().subject is None


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"kind": "magic"}, "kind"),
        ({"words": "  "}, "words"),
        ({"words": "x" * 2001}, "words"),
        ({"happened_at": timezone.now() + timedelta(days=400)}, "happened_at"),
    ],
)
def test_what_cannot_be_logged_names_its_field(coach: Membership, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as refused:
        log_incident(by=coach, entry=entry(**wrong))
    assert refused.value.field == field
    assert not Incident.objects.exists()


def test_neither_incidents_nor_checks_can_be_changed_in_the_database(coach: Membership, athlete: Athlete) -> None:
    log_incident(by=coach, entry=entry(athlete))
    check_equipment(by=coach, entry=CheckEntry(item="Rig", fit=True))
    for rows in (Incident.objects.all(), EquipmentCheck.objects.all()):
        for change in (lambda rows=rows: rows.update(recorded_at=timezone.now()), rows.delete):
            with pytest.raises(DatabaseError), transaction.atomic():
                change()


# ---- Equipment --------------------------------------------------------------------------------------------


def test_what_is_not_fit_stays_in_sight_until_it_is_found_fit(coach: Membership, owner: Membership) -> None:
    check_equipment(by=coach, entry=CheckEntry(item="High bar", fit=True, found=("hooks", "bar")))
    check_equipment(by=coach, entry=CheckEntry(item=" Rings  left ", fit=False, reason="A strap is frayed."))
    (first, second) = equipment_now(coach.gym)
    assert (first.row.item, first.row.fit, first.reason) == ("Rings left", False, "A strap is frayed.")
    assert (second.row.item, second.row.found) == ("High bar", ["bar", "hooks"])
    check_equipment(by=owner, entry=CheckEntry(item="Rings left", fit=True, hole_left=12, hole_right=12))
    assert [whole.row.fit for whole in equipment_now(coach.gym)] == [True, True]
    assert (EquipmentCheck.objects.count(), acts("equipment_checked")) == (3, 3)


def test_the_same_check_sent_twice_is_one(coach: Membership) -> None:
    said = CheckEntry(item="High bar", fit=True)
    assert check_equipment(by=coach, entry=said) == check_equipment(by=coach, entry=said)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        (CheckEntry(item=" ", fit=True), "item"),
        (CheckEntry(item="x" * 61, fit=True), "item"),
        (CheckEntry(item="Bar", fit=True, found=("paint",)), "found"),
        (CheckEntry(item="Bar", fit=True, hole_left=0, hole_right=0), "hole_left"),
        (CheckEntry(item="Bar", fit=True, hole_left=4, hole_right=5), "reason"),
        (CheckEntry(item="Bar", fit=False), "reason"),
    ],
)
def test_what_cannot_be_recorded_names_its_field(coach: Membership, said: CheckEntry, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        check_equipment(by=coach, entry=said)
    assert refused.value.field == field
    assert not EquipmentCheck.objects.exists()


def test_holes_that_differ_are_told(coach: Membership) -> None:
    said = CheckEntry(item="Bar", fit=True, hole_left=4, hole_right=5, reason="The left upright stands lower.")
    assert check_equipment(by=coach, entry=said).fit
