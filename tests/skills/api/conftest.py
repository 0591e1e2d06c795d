import pytest

from athletes.models import Gym, Membership
from tests.factories.skills import library


@pytest.fixture(autouse=True)
def _library(request: pytest.FixtureRequest) -> None:
    """The shipped skills in the cast's gym, for tests that touch the database."""
    if "gym" in request.fixturenames:
        gym: Gym = request.getfixturevalue("gym")
        owner: Membership = request.getfixturevalue("owner")
        library(gym, owner)
