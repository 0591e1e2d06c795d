"""A roster is looked over before it is stored: every kind of line on one page, by everybody, and without script."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Gym, Membership, Person
from tests.browser.devices import PHONE, TABLET
from tests.browser.hands import Hands
from tests.browser.test_accessible import judged
from tests.factories.athletes import make_athlete

pytestmark = pytest.mark.browser

ROSTER = """name,birth_date,stature_m,email
Ada Lindqvist,1990-03-14,1.74,
Berg Zoe,2011-05-30,1.52,zoe@home.example
Bo Berg,1999-04-02,,bo@mail.example
Cy Chen,soon,,
Dí Roy,2001-02-03,,
Di Roy,,,
,2001-01-01,172,x
"""


@pytest.fixture
def roster(gym: Gym, athlete: Athlete) -> None:
    make_athlete(gym, "Zoë Berg", birth_on=date(2011, 5, 30))


def shown(page: Page, folder: Path) -> Hands:
    """Bring the file to the page that shows what it would do."""
    file = folder / "roster.csv"
    file.write_text(ROSTER, encoding="utf-8")
    hands = Hands(page)
    page.goto("/athletes/import/")
    hands.choose_file("CSV file (optional)", file)
    hands.tap("Look it over")
    expect(page.get_by_role("heading", name="Look the import over")).to_be_visible()
    return hands


@pytest.mark.usefixtures("roster")
def test_the_preview_keeps_nobody_out(open_page: Callable[..., Page], coach: Membership, tmp_path: Path) -> None:
    page = open_page(TABLET, coach)
    hands = shown(page, tmp_path)
    found = [*judged(page, "preview")]
    page.set_viewport_size(TABLET["viewport"])
    hands.tap(page.get_by_role("button", name="Add 2 athletes"))
    expect(page.get_by_role("alert").first).to_contain_text("Choose who line 3 is.")
    found += [*judged(page, "undecided")]
    assert not found, "\n".join(found)


@pytest.mark.usefixtures("roster")
@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_coach_says_of_each_line_who_it_is(
    open_page: Callable[..., Page], coach: Membership, tmp_path: Path, *, script: bool
) -> None:
    page = open_page(PHONE | {"java_script_enabled": script}, coach)
    hands = shown(page, tmp_path)
    assert Person.objects.filter(athlete__isnull=False).count() == 2
    hands.tap(page.get_by_label("the same person as number 2: take the new details"))
    hands.tap(page.get_by_role("group", name="Line 7: Di Roy").get_by_label("somebody else: add"))
    hands.tap(page.get_by_role("button", name="Add 2 athletes"))
    expect(page.locator("#messages")).to_contain_text("3 athletes added, 1 already on the roster (1 with new measures)")
    names = list(
        Person.objects.filter(athlete__isnull=False).order_by("athlete__number").values_list("full_name", flat=True)
    )
    assert names == ["Ada Lindqvist", "Berg Zoe", "Bo Berg", "Dí Roy", "Di Roy"]
