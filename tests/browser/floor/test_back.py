"""Who comes back after weeks: the step before is in hand, and the next one is one tap away."""

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete, Membership
from skills.models import Attendance
from tests.browser.floor.tablet import Opened
from tests.factories.skills import library, log, meet, start_class

pytestmark = pytest.mark.browser

INSTEAD = "Go on with 2 Straight legs up and held at the bar instead"


def test_one_tap_goes_on_with_the_other_step_and_a_reload_keeps_it(
    tablet_of: Opened, coach: Membership, athlete: Athlete
) -> None:
    library(athlete.gym, coach)
    meet(coach, athlete, "pullover-1", days_ago=26)
    log(coach, athlete, "pullover-2", 3.0, days_ago=24)
    session = start_class(coach, athlete)
    tablet = tablet_of(coach)
    tablet.in_class(session)
    expect(tablet.tile(athlete)).to_contain_text("Back after 24 days: begin with 1 ")
    tablet.open(athlete)
    step, instead = tablet.page.locator(".panel [data-slot=step]"), tablet.button(INSTEAD)
    expect(step).to_contain_text("1 ")
    tablet.tap(instead)
    expect(step).to_have_text("2 Straight legs up and held at the bar")
    expect(instead).to_have_count(0)
    expect(tablet.stand).to_have_text("Everything stored")
    tablet.page.reload()
    expect(step).to_have_text("2 Straight legs up and held at the bar")
    expect(tablet.page.locator(".panel [data-slot=instead]")).to_be_hidden()
    assert Attendance.objects.get(session=session).step.code == "pullover-2"  # type: ignore[union-attr]
