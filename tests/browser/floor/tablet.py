"""A tablet on the gym floor: a page of the floor board, and a hand whose touches are felt at given moments."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from playwright.sync_api import BrowserContext, CDPSession, Locator, Page, expect

from athletes.models import Athlete, Membership
from skills.models import TrainingSession
from tests.browser.hands import middle_of
from tests.helpers.floor import Device, held

PAUSE_S: Final = 0.4  # a second touch within 0.3 s is taken for a slip
KEEP: Final = """async (values) => {
  const { openStore } = await import("/static/js/floor/store.js");
  const store = await openStore();
  for (const [key, value] of Object.entries(values)) await store.keep(key, value);
  await store.close();
}"""
ENTRIES: Final = """async () => {
  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const database = await done(indexedDB.open("floor"));
  const entries = await done(database.transaction("entries").objectStore("entries").getAll());
  database.close();
  return entries;
}"""  # without a module of the page: there may be no network to load it from


def let_in(page: Page, device: Device, coach: Membership, **holder: Any) -> None:
    """Make the page's device the tablet, in the hands of the coach, as after enrolling and typing a code."""
    hand_over = held(device, coach)
    gym = {"name": coach.gym.name}
    tablet = {"key": device.key, "id": str(device.tablet.id), "name": device.tablet.name, "gym": gym}
    row = {"name": coach.person.full_name, "hand_over": str(hand_over.id), "confirmed": True, "claimed_at": None}
    holders = {str(coach.id): {**row, "until": hand_over.until_at.isoformat(), "asks": "", **holder}}
    page.goto("/account/sign-in/")  # of the same origin, and no page that has the store open
    page.evaluate(KEEP, {"tablet": tablet, "holder": str(coach.id), "holders": holders})


@dataclass
class FloorPage:
    """What stands on a page of the floor board, and a touch on it."""

    page: Page
    driver: CDPSession

    @property
    def clock(self) -> Locator:
        return self.page.locator(".clock[data-do=clock]")

    @property
    def logged(self) -> Locator:
        return self.page.locator("[data-slot=logged]")

    @property
    def says(self) -> Locator:
        """What the panel says above its clock: the try that was kept, and what the answer brought."""
        return self.page.locator(".panel .says")

    @property
    def stand(self) -> Locator:
        return self.page.locator("[data-slot=stand]")

    def tile(self, athlete: Athlete) -> Locator:
        return self.page.locator(f".tile[data-athlete='{athlete.id}']")

    def button(self, words: str) -> Locator:
        return self.page.get_by_role("button", name=words, exact=True).locator("visible=true").first

    def feel(self, target: Locator, at: float) -> None:
        """Touch something, as felt at a moment in seconds since 1970."""
        expect(target).to_be_visible()
        target.scroll_into_view_if_needed()
        point = middle_of(target)
        for kind, points, moment in (("touchStart", [point], at), ("touchEnd", [], at + 0.02)):
            self.driver.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points, "timestamp": moment})


@dataclass
class Tablet(FloorPage):
    """One page; `at` is the moment of the last touch, in seconds since 1970, never before the one before it."""

    driver: CDPSession = field(init=False)
    at: float = 0
    taps: int = 0

    def __post_init__(self) -> None:
        self.driver = self.page.context.new_cdp_session(self.page)

    @property
    def context(self) -> BrowserContext:
        return self.page.context

    def go(self, place: str) -> None:
        self.page.evaluate("(place) => { location.hash = place; }", place)

    def in_class(self, session: TrainingSession, place: str = "") -> None:
        self.page.goto(f"/floor/#/class/{session.id}{place}")
        expect(self.page.locator("html")).to_have_attribute("data-ready", "")
        expect(self.page.locator(".tile")).not_to_have_count(0)
        expect(self.page.get_by_text("Step not known yet")).to_have_count(0)  # the board has been heard of

    def open(self, athlete: Athlete) -> None:
        self.taps += 1
        self.tile(athlete).get_by_role("link").tap()
        title = self.page.locator("#panel-title [data-slot=number]")
        expect(title).to_have_text(str(athlete.number))

    def tap(self, target: Locator | str, *, after_s: float = PAUSE_S) -> None:
        """Touch something, `after_s` seconds after the last touch or now, whichever is later."""
        self.at = max(time.time(), self.at + after_s)
        self.touch(self.button(target) if isinstance(target, str) else target, self.at)

    def touch(self, target: Locator, at: float) -> None:
        self.taps += 1
        self.feel(target, at)

    def hold(self, athlete: Athlete, seconds: float, *, stop: str = "") -> None:
        """Clock a hold: by the clock, or by a fault's word; as long as said, however long this takes."""
        self.open(athlete)
        expect(self.clock).to_contain_text("Start")
        self.at = max(time.time(), self.at + PAUSE_S)  # no touch is felt before its page was there
        self.touch(self.clock, self.at)
        expect(self.clock).to_contain_text("Stop")
        self.at += seconds
        self.touch(self.button(stop) if stop else self.clock, self.at)
        expect(self.clock).to_contain_text("Start")

    def waiting(self) -> list[dict[str, Any]]:
        """What stands in the outbox, asked of the device itself."""
        found: list[dict[str, Any]] = self.page.evaluate(ENTRIES)
        return found


Opened = Callable[..., Tablet]
