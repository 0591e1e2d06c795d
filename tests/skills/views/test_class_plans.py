"""Pages of a class plan: having it made, moving people in it, and what clashes."""

import pytest

from skills.queries.kept_plans import whole_plan_of
from tests.factories.athletes import make_athlete
from tests.factories.class_plans import make_hall, make_measured
from tests.factories.skills import library, start_class
from tests.helpers.attempt_forms import text_of

LENGTHS = {
    "minutes": "40", "warm_up_minutes": "10", "rotation_minutes": "15", "coaches": "1", "judges": "1",
    "most_resets": "1", "reset_minutes": "3",
}  # fmt: skip


@pytest.fixture
def athletes(coach):
    library(coach.gym)
    found = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl")]
    for athlete in found:
        make_measured(athlete)
    return found


@pytest.fixture
def hall(gym):
    return make_hall(gym)


def test_a_class_is_planned_from_the_page(client_of, coach, athletes, hall):
    session = start_class(coach, *athletes)
    client = client_of(coach)
    assert "3 people are here, 4 stations described" in text_of(client.get(f"/sessions/{session.id}/plan/"))
    page = text_of(client.post(f"/sessions/{session.id}/plan/make/", LENGTHS, follow=True))
    assert "Rotation 2" in page
    assert "1 Ada" in page
    assert whole_plan_of(session).rotations == 2
    person = client.get(f"/sessions/{session.id}/plan/{athletes[0].id}/1/")
    assert person.status_code == 200
