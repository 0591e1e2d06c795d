"""The bars through the API."""

from django.utils import timezone

from athletes.models import Membership
from tests.factories.bars import make_high_bar, make_low_bar
from tests.helpers.api import api_of


def test_bars_in_use_come_with_their_holes_and_what_is_not_known_is_null(
    coach: Membership, other_coach: Membership
) -> None:
    low = make_low_bar(coach.gym, holes=3, hole_pitch_tenths_mm=508, ceiling_mm=2400)
    make_high_bar(coach.gym)
    make_low_bar(coach.gym, "sold", retired_at=timezone.now())
    make_low_bar(other_coach.gym, "elsewhere")
    first, second = api_of(coach).get("bars/").json()
    assert first == {
        "id": str(low.id),
        "name": low.name,
        "kind": "tied",
        "diameter_mm": "28.0",
        "settings": [{"hole": 1, "top_mm": 400}, {"hole": 2, "top_mm": 451}, {"hole": 3, "top_mm": 502}],
        "ceiling_mm": 2400,
        "clear_front_mm": None,
        "clear_behind_mm": None,
        "mat_mm": 20,
    }
    assert second["settings"] == [{"hole": None, "top_mm": 2550}]


def test_bars_are_for_staff(athlete_member: Membership, reader: Membership) -> None:
    assert api_of(athlete_member).get("bars/").status_code == 403
    assert api_of(reader).get("bars/").json() == []
