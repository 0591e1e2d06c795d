"""Whose records each member may see."""

import pytest
from django.http import Http404
from django.utils import timezone

from athletes.access.records import access_athlete, athletes_in_sight, practising_athletes
from athletes.access.staff import access_staff, access_token, staff_in_sight, tokens_in_sight
from athletes.models import Guardianship
from athletes.services.tokens import make_token


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
