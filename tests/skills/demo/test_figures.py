"""The played gym has what the panels of figures need: rises, plateaus, and pairs enough to correct an estimate."""

from datetime import UTC, datetime

import pytest

from athletes.models import Athlete
from skills.core.estimates import ENOUGH_PAIRS
from skills.queries.books import book_of
from skills.showing.estimates import EstimatesPanel, estimates_panel
from skills.showing.trends import TrendsPanel, trends_panel
from tests.skills.demo.conftest import UNTIL

pytestmark = pytest.mark.django_db
NOON = datetime(UNTIL.year, UNTIL.month, UNTIL.day, 12, tzinfo=UTC)


@pytest.fixture
def athletes(demo_gym) -> list[Athlete]:
    return list(Athlete.objects.filter(gym=demo_gym).select_related("person", "gym"))


def test_estimates_are_corrected_by_the_gyms_own_pairs_and_say_how_they_did(demo_gym, athletes):
    level = book_of(demo_gym).steps["l-hold-4"]
    panels: list[EstimatesPanel] = [estimates_panel(athlete=each, step=level, now=NOON) for each in athletes]
    corrected = [panel.figure for panel in panels if panel.figure]
    assert len(corrected) >= ENOUGH_PAIRS
    assert all(dict(figure.inputs)["People of this gym with holds on both"] for figure in corrected)
    assert any("How past estimates did" in words for panel in panels for words in panel.notes)


def test_some_holds_rise_towards_their_target_and_some_stay_on_a_plateau(demo_gym, athletes):
    pages = [page for page in book_of(demo_gym).steps.values() if page.skill_slug in {"l-hold", "bar-pullover"}]
    panels: list[TrendsPanel] = [trends_panel(athlete=each, step=page, now=NOON) for each in athletes for page in pages]
    labels = {figure.label for panel in panels for figure in panel.figures}
    assert {"Change of the best hold", "20 s would be met"} <= labels
    assert any(words.startswith("A plateau: since") for panel in panels for words in panel.said)
