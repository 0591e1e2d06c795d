"""Who may say, or write down, that somebody consents."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from athletes.models import Athlete, AuditEntry, Consent, Membership
from athletes.services.consents import BadExtent, NotTheirs, SaidInFuture, UnknownKind, may_record, record_consent
from athletes.services.links import end_guardianship
from gymtrack.lib.ids import new_id
from tests.factories.athletes import make_login, years_before_today


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
    assert may_record(coach_two, athlete, "link")
    coach_two.may_log = False
    assert not may_record(coach_two, athlete, "link")
    assert not may_record(other_coach, athlete, "link")


def test_nobody_speaks_for_another_athlete_and_no_minor_for_themselves(
    athlete_member: Membership, athlete: Athlete, guardian: Membership, minor: Athlete
) -> None:
    own_log_in_of_a_minor = make_login(minor)
    for by, who in ((athlete_member, minor), (guardian, athlete), (own_log_in_of_a_minor, minor)):
        assert not may_record(by, who, "spotting")
        with pytest.raises(NotTheirs):
            record_consent(by=by, athlete=who, kind="spotting", given=True)
    assert not Consent.objects.exists()


def test_a_guardian_speaks_until_the_link_ends_or_the_ward_is_of_age(
    coach: Membership, guardian: Membership, minor: Athlete
) -> None:
    minor.person.birth_on = date(1990, 3, 14)
    assert not may_record(guardian, minor, "spotting")
    minor.person.refresh_from_db()
    end_guardianship(by=coach, guardianship=guardian.wards.get())
    assert not may_record(guardian, minor, "spotting")


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


def test_a_log_in_ends_with_a_guardians_yes_to_it(guardian: Membership, minor: Athlete) -> None:
    own = make_login(minor)
    record_consent(by=guardian, athlete=minor, kind="login", given=True)
    own.refresh_from_db()
    assert own.ended_at is None
    record_consent(by=guardian, athlete=minor, kind="login", given=False)
    own.refresh_from_db()
    assert own.ended_at is not None
    acts = AuditEntry.objects.order_by("position").values_list("act", flat=True)
    assert [*acts] == ["consent_recorded", "consent_recorded", "login_ended"]


def test_from_sixteen_a_minor_decides_about_data_and_a_guardian_about_the_body(
    guardian: Membership, minor: Athlete
) -> None:
    minor.person.birth_on = years_before_today(16)
    minor.person.save()
    own = make_login(minor)
    says = {
        kind: (may_record(own, minor, kind), may_record(guardian, minor, kind))
        for kind in ("spotting", "inversion", "board", "reports", "link", "login")
    }
    body, data = (False, True), (True, False)
    assert says == {
        "spotting": body, "inversion": body, "board": data, "reports": data, "link": data, "login": data
    }  # fmt: skip
    row = record_consent(by=own, athlete=minor, kind="board", given=True, extent="initials")
    assert (row.said_by, row.extent) == ("athlete", "initials")


def test_what_was_said_before_a_birthday_is_of_who_decided_then(coach: Membership, athlete: Athlete) -> None:
    athlete.person.birth_on = years_before_today(18)
    athlete.person.save()
    months_ago = timezone.now() - timedelta(days=90)
    rows = [
        record_consent(by=coach, athlete=athlete, kind="spotting", given=True, said_at=at) for at in (months_ago, None)
    ]
    assert [row.said_by for row in rows] == ["guardian", "athlete"]


@pytest.mark.parametrize(
    ("kind", "given", "extent"),
    [("board", True, ""), ("board", True, "loud"), ("board", False, "initials"), ("link", True, "initials")],
)
def test_how_far_is_said_of_the_board_alone(
    *, coach: Membership, athlete: Athlete, kind: str, given: bool, extent: str
) -> None:
    with pytest.raises(BadExtent):
        record_consent(by=coach, athlete=athlete, kind=kind, given=given, extent=extent)
    assert not Consent.objects.exists()


def test_the_limit_stands_in_the_audit_chain(coach: Membership, athlete: Athlete) -> None:
    row = record_consent(by=coach, athlete=athlete, kind="board", given=True, extent="number")
    assert '"extent":"number"' in AuditEntry.objects.get(about=row.id).content
