import json

import pytest

from athletes.models import AuditEntry, Guardianship, Membership
from athletes.services.audit import first_broken_link
from athletes.services.links import end_guardianship, end_login
from tests.factories.athletes import Role, make_athlete, make_guardian, make_login, make_member


@pytest.fixture
def sister(gym, minor, guardian):
    lou = make_athlete(gym, "Lou Okafor", birth_on=minor.person.birth_on)
    Guardianship.objects.create(gym=gym, guardian=guardian, athlete=lou)
    return lou


def test_the_last_link_ends_and_the_membership_with_it(coach, guardian, minor):
    link = guardian.wards.get()
    assert end_guardianship(by=coach, guardianship=link) is True
    stored = Guardianship.objects.get()
    guardian.refresh_from_db()
    assert stored.ended_at == link.ended_at == guardian.ended_at
    assert stored.ended_at is not None
    entry = AuditEntry.objects.get()
    assert (entry.act, entry.actor, entry.about) == ("guardianship_ended", coach, link.id)
    told = {"athlete": str(minor.id), "guardian": str(guardian.id), "ended": str(guardian.id)}
    assert json.loads(entry.content) == told
    assert first_broken_link(coach.gym) is None


def test_a_guardian_of_two_stays_for_the_other(coach, guardian, minor, sister):
    end_guardianship(by=coach, guardianship=guardian.wards.get(athlete=minor))
    guardian.refresh_from_db()
    assert guardian.ended_at is None
    assert guardian.wards.get(ended_at=None).athlete == sister
    assert "ended" not in json.loads(AuditEntry.objects.get().content)
    end_guardianship(by=coach, guardianship=guardian.wards.get(athlete=sister))
    guardian.refresh_from_db()
    assert guardian.ended_at is not None


def test_one_guardian_ends_and_the_other_stays(coach, guardian, minor):
    other = make_guardian(minor, "Gus Okafor")
    end_guardianship(by=coach, guardianship=guardian.wards.get())
    other.refresh_from_db()
    assert other.ended_at is None
    assert other.wards.get().ended_at is None


def test_a_link_ends_once(coach, guardian):
    link = guardian.wards.get()
    end_guardianship(by=coach, guardianship=link)
    moments = (Guardianship.objects.get().ended_at, Membership.objects.get(pk=guardian.pk).ended_at)
    assert end_guardianship(by=coach, guardianship=Guardianship.objects.get()) is False
    assert (Guardianship.objects.get().ended_at, Membership.objects.get(pk=guardian.pk).ended_at) == moments
    assert AuditEntry.objects.count() == 1


def test_another_gyms_link_stays(other_coach, guardian):
    assert end_guardianship(by=other_coach, guardianship=guardian.wards.get()) is False
    guardian.refresh_from_db()
    assert guardian.ended_at is None
    assert guardian.wards.get().ended_at is None
    assert not AuditEntry.objects.exists()


def test_a_log_in_ends_once(coach, athlete, athlete_member):
    assert end_login(by=coach, athlete=athlete) is True
    ended_at = Membership.objects.get(pk=athlete_member.pk).ended_at
    assert ended_at is not None
    assert end_login(by=coach, athlete=athlete) is False
    assert Membership.objects.get(pk=athlete_member.pk).ended_at == ended_at
    entry = AuditEntry.objects.get()
    assert (entry.act, entry.actor, entry.about) == ("login_ended", coach, athlete.id)
    assert json.loads(entry.content) == {"ended": [str(athlete_member.id)]}
    assert first_broken_link(coach.gym) is None


def test_only_that_athletes_log_in_ends(coach, athlete, athlete_member, minor):
    others = [make_login(minor), make_member(coach.gym, Role.GUARDIAN, "Ada Senior", email="senior@home.example")]
    end_login(by=coach, athlete=athlete)
    assert {*Membership.objects.filter(ended_at=None)} == {coach, *others}


def test_another_gyms_log_in_stays(other_coach, athlete, athlete_member):
    assert end_login(by=other_coach, athlete=athlete) is False
    athlete_member.refresh_from_db()
    assert athlete_member.ended_at is None
    assert not AuditEntry.objects.exists()
