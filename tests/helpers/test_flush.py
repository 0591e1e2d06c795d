"""Tests that commit can be cleaned up after, and the append-only guards stand both before and after."""

import pytest
from django.db import IntegrityError, connection, transaction

from athletes.models import Caution, Gym, Membership
from gymtrack.lib import guards
from tests.factories.athletes import make_athlete, make_caution, make_gym, make_member
from tests.helpers.flush import guards_lifted


def missing() -> list[object]:
    return list(guards.guards_stand(databases=["default"]))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", ["first", "second"])
def test_committed_facts_are_gone_by_the_next_test_and_guards_stand(turn):
    assert missing() == []
    assert not Gym.objects.exists()
    gym = make_gym()
    coach = make_member(gym, Membership.Role.COACH, "Cleo Adeyemi")
    caution = make_caution(make_athlete(gym, "Ada Lindqvist"), coach)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        caution.delete()
    assert Caution.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_guards_stand_again_after_a_block_that_failed():
    def fail():
        with guards_lifted():
            assert missing() != []
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert missing() == []


@pytest.mark.django_db
def test_guards_stand_inside_a_test_that_rolls_back():
    assert missing() == []
    assert guards.standing_guards(connection) >= {guard.name for guard in guards.expected_guards(connection.vendor)}
