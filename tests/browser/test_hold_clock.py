"""The clock's own error. Each touch carries the moment at which the screen felt it, given here to the microsecond;
the length of a hold comes from these moments alone, however late the page gets round to them.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from playwright.sync_api import CDPSession, Locator, Page, expect

from athletes.models import Athlete, Membership
from tests.browser.devices import TABLET
from tests.factories.skills import library, start_class

pytestmark = pytest.mark.browser

BUSY = "() => setTimeout(() => { const until = performance.now() + 700; while (performance.now() < until); })"


@dataclass
class Screen:
    """A touch screen that feels touches at given moments, in seconds after its first."""

    page: Page
    driver: CDPSession
    began_at: float

    @property
    def clock(self) -> Locator:
        return self.page.locator("[data-clock]")

    @property
    def seconds(self) -> Locator:
        return self.page.get_by_label("Seconds", exact=True)

    def touch(self, target: Locator, at: float) -> None:
        box = target.bounding_box()
        assert box
        point = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
        moment = self.began_at + at
        self._feel("touchStart", [point], moment)
        self._feel("touchEnd", [], moment + 0.02)

    def _feel(self, kind: str, points: list[dict[str, float]], moment: float) -> None:
        self.driver.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points, "timestamp": moment})


@pytest.fixture
def screen(open_page: Callable[..., Page], coach: Membership, athlete: Athlete) -> Screen:
    library(athlete.gym, coach)
    session = start_class(coach, athlete)
    page = open_page(TABLET, coach)
    page.goto(f"/sessions/{session.id}/athletes/{athlete.id}/")
    expect(page.locator("[data-clock]")).to_be_visible()
    return Screen(page, page.context.new_cdp_session(page), time.time())


# The browser tells the moment of a touch to a tenth of a millisecond, so the edge is told by a whole one.
HOLDS = (
    (4.99, "4.9"),
    (4.999, "4.9"),
    (5.001, "5.0"),
    (5.099, "5.0"),
    (0.451, "0.4"),
    (20.05, "20.0"),
    (71.2345, "71.2"),
)


def test_a_hold_is_cut_to_tenths_and_never_rounded_up(screen: Screen) -> None:
    starts_at = 0.0
    for held, shown in HOLDS:
        screen.touch(screen.clock, starts_at)
        expect(screen.clock).to_contain_text("Stop")
        screen.touch(screen.clock, starts_at + held)
        expect(screen.clock).to_contain_text("Start")
        expect(screen.seconds).to_have_value(shown)
        expect(screen.clock).to_contain_text(shown)
        starts_at += held + 1


def test_a_busy_page_does_not_lengthen_a_hold(screen: Screen) -> None:
    screen.page.evaluate(BUSY)
    screen.touch(screen.clock, 0)
    expect(screen.clock).to_contain_text("Stop")
    screen.page.evaluate(BUSY)
    screen.touch(screen.clock, 5.25)
    expect(screen.seconds).to_have_value("5.2")


def test_a_second_touch_within_three_tenths_does_nothing(screen: Screen) -> None:
    screen.touch(screen.clock, 0)
    screen.touch(screen.clock, 0.29)
    screen.touch(screen.clock, 6.35)
    expect(screen.clock).to_contain_text("Start")
    expect(screen.seconds).to_have_value("6.3")
    screen.touch(screen.clock, 6.6)
    expect(screen.clock).to_contain_text("Start")
    expect(screen.seconds).to_have_value("6.3")


def test_a_slip_of_the_hand_on_clean_logs_nothing(screen: Screen) -> None:
    """The second touch of a double one would land on the button for a clean hold."""
    clean = screen.page.get_by_role("button", name="Clean", exact=True)
    screen.touch(screen.clock, 0)
    screen.touch(screen.clock, 5.55)
    screen.touch(clean, 5.75)
    expect(screen.seconds).to_have_value("5.5")
    expect(screen.page.locator(".logged")).to_have_count(0)
    screen.touch(clean, 6.2)
    expect(screen.page.locator(".logged")).to_contain_text("Stored: 5.5 s, clean")


def test_a_verdict_while_the_clock_runs_stops_it(screen: Screen) -> None:
    screen.touch(screen.clock, 0)
    screen.touch(screen.page.get_by_role("button", name="Shoulders close", exact=True), 3.78)
    expect(screen.page.locator(".logged")).to_contain_text("Stored: 3.7 s, Shoulders close")
