"""The levers of a step in a browser: chosen for a person, unfolded, by another table, and usable by everybody."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Gym, Membership
from tests.browser.devices import TABLET
from tests.browser.test_accessible import judged
from tests.factories.athletes import make_measure
from tests.factories.skills import library

pytestmark = pytest.mark.browser


def test_a_coach_asks_what_a_tuck_asks_of_somebody(
    open_page: Callable[..., Page], gym: Gym, coach: Membership, athlete: Athlete
) -> None:
    library(gym)
    make_measure(athlete)
    page = open_page(TABLET, coach)
    page.goto("/skills/bar-pullover/pullover-1/")
    page.get_by_label("For whom").select_option(str(athlete.id))
    page.get_by_role("button", name="Show").click()
    page.get_by_text("Levers: what this step asks of the body").click()
    expect(page.get_by_role("img", name="1 Tucked hold in a long-arm hang: the pose to scale")).to_be_visible()
    moment = page.locator(".figure", has_text="Moment at the hips, both legs")
    expect(moment).to_contain_text("49 N·m")
    moment.get_by_text("Where from?").click()
    expect(moment).to_contain_text("1.72 m, measured 12 January 2026")
    page.get_by_role("link", name="de Leva 1996, men").click()
    expect(page.locator("#levers")).to_have_attribute("open", "")
    expect(page.locator(".figure", has_text="Moment at the hips, both legs")).to_contain_text("55 N·m")
    expect(page.get_by_label("For whom")).to_have_value(str(athlete.id))
    found = [*judged(page, "step with levers")]
    assert not found, "\n".join(found)
