"""Who may say, or write down, that somebody consents."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Consent, Membership
from athletes.services.consents import NotTheirs, SaidInFuture, UnknownKind, may_record, record_consent
from athletes.services.links import end_guardianship
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_login


def test_a_coach_writes_down_what_was_said_and_when(coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    said_at = timezone.now() - timedelta(days=3)
    rows = [
        record_consent(by=coach, athlete=who, kind="inversion", given=True, said_at=said_at) for who in (athlete, minor)
    ]
    assert [(row.said_by, row.happened_at, row.entered_by) for row in rows] == [
        ("athlete", said_at, coach),
        ("guardian", said_at, coach),
    ]
    entry = AuditEntry.objects.get(about=rows[0].id)
    assert (entry.act, str(athlete.id) in entry.content) == ("consent_recorded", True)
    assert "Ada" not in entry.content


def test_an_adult_and_a_guardian_say_it_themselves_and_now(
    athlete_member: Membership, athlete: Athlete, guardian: Membership, minor: Athlete
) -> None:
    long_ago = timezone.now() - timedelta(days=30)
    for by, who, said_by in ((athlete_member, athlete, "athlete"), (guardian, minor, "guardian")):
        row = record_consent(by=by, athlete=who, kind="spotting", given=False, said_at=long_ago)
        assert (row.said_by, row.given, row.happened_at > long_ago) == (said_by, False, True)


def test_a_coach_of_another_gym_and_one_who_may_not_log_write_nothing_down(
    coach_two: Membership, other_coach: Membership, athlete: Athlete
) -> None:
    assert may_record(coach_two, athlete)
    coach_two.may_log = False
    assert not may_record(coach_two, athlete)
    assert not may_record(other_coach, athlete)


def test_nobody_speaks_for_another_athlete_and_no_minor_for_themselves(
    athlete_member: Membership, athlete: Athlete, guardian: Membership, minor: Athlete
) -> None:
    own_log_in_of_a_minor = make_login(minor)
    for by, who in ((athlete_member, minor), (guardian, athlete), (own_log_in_of_a_minor, minor)):
        assert not may_record(by, who)
        with pytest.raises(NotTheirs):
            record_consent(by=by, athlete=who, kind="spotting", given=True)
    assert not Consent.objects.exists()


def test_a_guardian_speaks_until_the_link_ends_or_the_ward_is_of_age(
    coach: Membership, guardian: Membership, minor: Athlete
) -> None:
    minor.person.birth_on = date(1990, 3, 14)
    assert not may_record(guardian, minor)
    minor.person.refresh_from_db()
    end_guardianship(by=coach, guardianship=guardian.wards.get())
    assert not may_record(guardian, minor)


def test_bad_words_are_refused(coach: Membership, athlete: Athlete) -> None:
    with pytest.raises(UnknownKind):
        record_consent(by=coach, athlete=athlete, kind="photographs", given=True)
    with pytest.raises(SaidInFuture):
        record_consent(
            by=coach, athlete=athlete, kind="spotting", given=True, said_at=timezone.now() + timedelta(hours=1)
        )
    assert not Consent.objects.exists()


def test_the_same_form_sent_twice_is_one_word(coach: Membership, athlete: Athlete) -> None:
    form_id = new_id()
    first, second = (
        record_consent(by=coach, athlete=athlete, kind="spotting", given=True, consent_id=form_id) for _ in range(2)
    )
    assert first == second
    assert AuditEntry.objects.count() == 1
