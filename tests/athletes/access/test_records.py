"""Whose records each member may see."""

from datetime import UTC, date, datetime
from uuid import uuid4

import pytest
import time_machine
from django.http import Http404
from django.utils import timezone

from athletes.access.records import access_athlete, access_guardianship, athletes_in_sight, practising_athletes
from athletes.access.staff import access_staff, access_token, staff_in_sight, tokens_in_sight
from athletes.models import Guardianship
from athletes.services.tokens import make_token
from tests.factories.athletes import make_athlete, make_guardian


@pytest.mark.parametrize(
    ("who", "seen"),
    [
        ("owner", {"Ada Lindqvist", "Mia Okafor"}),
        ("coach", {"Ada Lindqvist", "Mia Okafor"}),
        ("athlete_member", {"Ada Lindqvist"}),
        ("guardian", {"Mia Okafor"}),
        ("other_coach", set()),
    ],
)
def test_each_sees_their_own(request, athlete, minor, who, seen):
    member = request.getfixturevalue(who)
    assert {found.person.full_name for found in athletes_in_sight(member)} == seen
    for found in (athlete, minor):
        if found.person.full_name in seen:
            assert access_athlete(member, found.id) == found
        else:
            with pytest.raises(Http404):
                access_athlete(member, found.id)


def test_a_guardian_whose_link_ended_sees_nothing(guardian, minor):
    Guardianship.objects.update(ended_at=timezone.now())
    assert not athletes_in_sight(guardian).exists()


@pytest.mark.parametrize(
    ("birth_on", "moment", "seen"),
    [
        # Berlin's midnight is 23:00 UTC in winter (IANA tzdata).
        (date(2008, 3, 14), datetime(2026, 3, 13, 22, 59, 59, tzinfo=UTC), True),
        (date(2008, 3, 14), datetime(2026, 3, 13, 23, 0, tzinfo=UTC), False),
        # born on 29 February, of age on 1 March
        (date(2008, 2, 29), datetime(2026, 2, 28, 22, 59, 59, tzinfo=UTC), True),
        (date(2008, 2, 29), datetime(2026, 2, 28, 23, 0, tzinfo=UTC), False),
        # today is 29 February
        (date(2006, 2, 28), datetime(2024, 2, 29, 12, 0, tzinfo=UTC), False),
        (date(2006, 3, 1), datetime(2024, 2, 29, 12, 0, tzinfo=UTC), True),
        (None, datetime(2026, 3, 14, 12, 0, tzinfo=UTC), True),
    ],
)
def test_a_guardian_sees_a_ward_until_they_come_of_age(gym, birth_on, moment, seen):
    ward = make_athlete(gym, "Uma Falk", birth_on=birth_on)
    guardian = make_guardian(ward, "Ines Falk")
    with time_machine.travel(moment, tick=False):
        assert ward.is_minor() is seen
        assert list(athletes_in_sight(guardian)) == ([ward] if seen else [])


def test_the_gym_says_when_somebody_is_of_age(guardian, minor):
    guardian.gym.adult_age_years = 14
    assert not athletes_in_sight(guardian).exists()
    guardian.gym.adult_age_years = 15
    assert list(athletes_in_sight(guardian)) == [minor]


@pytest.mark.parametrize("who", ["owner", "coach"])
def test_staff_find_a_guardians_link(request, guardian, minor, who):
    link = guardian.wards.get()
    assert access_guardianship(request.getfixturevalue(who), minor.id, link.id) == link


@pytest.mark.parametrize("who", ["guardian", "athlete_member", "other_coach"])
def test_nobody_else_finds_a_guardians_link(request, guardian, minor, who):
    with pytest.raises(Http404):
        access_guardianship(request.getfixturevalue(who), minor.id, guardian.wards.get().id)


def test_a_guardians_link_is_found_under_its_own_athlete_alone(coach, guardian, athlete, minor):
    link = guardian.wards.get()
    for of_whom, which in ((athlete.id, link.id), (minor.id, uuid4())):
        with pytest.raises(Http404):
            access_guardianship(coach, of_whom, which)


def test_who_left_practises_no_more_from_that_day_on(coach, athlete, minor):
    athlete.left_on = timezone.localdate(timezone=coach.gym.zone)
    athlete.save(update_fields=["left_on"])
    assert list(practising_athletes(coach, timezone.now())) == [minor]


def test_only_an_owner_sees_staff_and_keys(owner, coach, coach_two, other_coach):
    token = make_token(by=owner, name="door").token
    assert list(staff_in_sight(owner)) == [owner, coach, coach_two]
    assert list(tokens_in_sight(owner)) == [token]
    for other in (coach, other_coach):
        assert not staff_in_sight(other).exists()
        with pytest.raises(Http404):
            access_staff(other, coach.id)
        with pytest.raises(Http404):
            access_token(other, token.id)
