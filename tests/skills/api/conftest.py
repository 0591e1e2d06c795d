import pytest
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from skills.models import TrainingSession
from tests.factories.skills import library, start_class
from tests.helpers.floor import Device, enrolled, held
from tests.helpers.floor_acts import HOUR


@pytest.fixture(autouse=True)
def _library(request: pytest.FixtureRequest) -> None:
    """The shipped skills in the cast's gym, for tests that touch the database."""
    if "gym" in request.fixturenames:
        gym: Gym = request.getfixturevalue("gym")
        owner: Membership = request.getfixturevalue("owner")
        library(gym, owner)


@pytest.fixture
def device(owner: Membership, coach: Membership) -> Device:
    """A tablet that Cleo holds."""
    device = enrolled(owner)
    held(device, coach)
    return device


@pytest.fixture
def klass(coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    """A class since two hours, with Ada and Mia."""
    session = start_class(coach, athlete, minor)
    TrainingSession.objects.filter(pk=session.pk).update(starts_at=timezone.now() - 2 * HOUR)
    session.refresh_from_db()
    return session
