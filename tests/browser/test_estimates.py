"""Estimate and trend beside a decision, in a browser: folded, so that deciding takes the same taps; usable by all."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Gym, Membership
from tests.browser.devices import TABLET
from tests.browser.test_accessible import judged
from tests.factories.holds import hold
from tests.factories.skills import days_before_now, library, step_of

pytestmark = pytest.mark.browser


@pytest.fixture
def address(gym: Gym, coach: Membership, athlete: Athlete) -> str:
    """Where Ada's L-hold may be decided; she has held it on five days, and the tuck for a minute."""
    library(gym)
    hold(coach, athlete, "l-hold-2", 600, at=days_before_now(3))
    for weeks, tenths in enumerate((60, 55, 50, 45, 40)):
        hold(coach, athlete, "l-hold-4", tenths, at=days_before_now(7 * weeks))
    return f"/sign-offs/{athlete.id}/{step_of(gym, 'l-hold-4').id}/finish/"


def test_a_coach_asks_what_hold_to_expect_and_where_that_is_from(
    open_page: Callable[..., Page], coach: Membership, address: str
) -> None:
    page = open_page(TABLET, coach)
    page.goto(address)
    figure = page.locator(".figure", has_text="Hold to expect at 4 L-hold on handles")
    expect(page.locator("details.panel-of-figures[open]")).to_have_count(0)
    expect(figure).not_to_be_visible()
    page.get_by_text("Estimate for this hold").click()
    expect(figure).to_contain_text("about 19 s")
    figure.get_by_text("Where from?").click()
    expect(figure).to_contain_text("Rohmert W, Internationale Zeitschrift")
    expect(page.get_by_role("img", name="Estimate: how long a share of the greatest force is held")).to_be_visible()
    page.get_by_text("Trend at 4 L-hold on handles").click()
    expect(page.get_by_text("The holds became longer over 5 days of practice")).to_be_visible()
    found = [*judged(page, "sign_off with figures")]
    assert not found, "\n".join(found)
