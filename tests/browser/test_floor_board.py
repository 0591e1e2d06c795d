"""The floor board on a tablet: a class, a tile, a hold that is kept and then stored."""

import json
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, Route, expect

from athletes.models import Athlete, Membership
from skills.models import Attempt, TrainingSession
from tests.browser import inspection
from tests.browser.devices import PHONE, TABLET, TABLET_LANDSCAPE
from tests.browser.floor.tablet import FloorPage, let_in
from tests.browser.hands import PAUSE_MS
from tests.browser.watch import Watch
from tests.factories.skills import library, log, start_class
from tests.helpers.floor import enrolled
from tests.plugins import measured

pytestmark = pytest.mark.browser
SCHEMES: tuple[Literal["dark", "light"], ...] = ("dark", "light")


class Server:
    """Stands before the server: notes each act once and lets it pass, refuses it, or does not answer at all."""

    def __init__(self, page: Page) -> None:
        self.acts: list[dict[str, Any]] = []
        self.refusal: str = ""
        self.is_away = False
        page.route("**/api/v1/floor/**", self._answer)

    def _answer(self, route: Route) -> None:
        if self.is_away:
            route.abort("internetdisconnected")
            return
        if route.request.url.endswith("/acts/"):
            acts = json.loads(route.request.post_data or "{}")["acts"]
            known = {act["id"] for act in self.acts}
            self.acts += [act for act in acts if act["id"] not in known]
            if self.refusal:
                route.fulfill(json=self._refused(acts))
                return
        route.continue_()

    def _refused(self, acts: list[dict[str, Any]]) -> dict[str, Any]:
        said = {"status": "refused", "code": "mistakes", "reason": self.refusal, "mistakes": []}
        receipts = [{"id": act["id"], **said} for act in acts]
        return {"at": timezone.now().isoformat(), "receipts": receipts, "tiles": [], "log": [], "stamp": "another"}

    def bodies(self, kind: str) -> list[dict[str, Any]]:
        return [act["body"] for act in self.acts if act["kind"] == kind]


@dataclass
class Floor(FloorPage):
    """A tablet on the floor with a class in hand; touches are felt at given moments, in seconds after its first."""

    session: TrainingSession
    server: Server
    began_at: float

    def open(self, athlete: Athlete) -> None:
        self.tile(athlete).get_by_role("link").tap()
        expect(self.page.locator("#panel-title")).to_contain_text(str(athlete.number))

    def touch(self, target: Locator, at: float) -> None:
        self.feel(target, self.began_at + at)

    def settled(self) -> None:
        """Wait until the server has everything."""
        expect(self.page.locator("[data-slot=stand]")).to_have_text("Everything stored")

    def rest(self, since: float) -> None:
        """Wait until the moment of the last touch has come, so that taps come after it."""
        self.page.wait_for_timeout(max(0, self.began_at + since - time.time()) * 1000 + PAUSE_MS)


@pytest.fixture
def session(coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    library(athlete.gym, coach)
    return start_class(coach, athlete, minor)


@pytest.fixture
def floor(open_page: Callable[..., Page], owner: Membership, session: TrainingSession, athlete: Athlete) -> Floor:
    coach = session.coach
    log(coach, athlete, "pullover-1", 4.1, days_ago=3, assistance="band")
    page = open_page(TABLET)
    let_in(page, enrolled(owner), coach)
    server = Server(page)
    page.goto(f"/floor/#/class/{session.id}")
    expect(page.locator(".tile-missing").first).to_contain_text("three more clean holds")
    return Floor(page, page.context.new_cdp_session(page), session, server, time.time())


def only_of_the_lost_network(page: Page, watch: Watch) -> bool:
    page.close()  # it asks on and on
    complaints, watch.misdeeds[:] = [*watch.misdeeds], []
    return all("ERR_INTERNET_DISCONNECTED" in each for each in complaints)


def test_a_hold_is_kept_and_then_stored(floor: Floor, athlete: Athlete) -> None:
    floor.open(athlete)
    expect(floor.page.locator("[data-slot=with]")).to_have_text("band")
    floor.touch(floor.clock, 0)
    expect(floor.clock).to_contain_text("Stop")
    expect(floor.tile(athlete)).to_contain_text("▶")
    floor.touch(floor.clock, 5.25)
    expect(floor.logged).to_contain_text("Stored: 5.2 s, clean, band")
    floor.settled()
    expect(floor.tile(athlete)).to_contain_text("5.2 s, clean, band")
    stored = Attempt.objects.get(session=floor.session)
    assert (stored.hold_tenths, stored.source, stored.assistance, stored.is_clean) == (52, "judged", "band", True)


def test_a_second_touch_within_three_tenths_does_nothing(floor: Floor, athlete: Athlete) -> None:
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 0.25)
    expect(floor.clock).to_contain_text("Stop")
    floor.touch(floor.clock, 4.95)
    floor.touch(floor.clock, 5.2)
    expect(floor.logged).to_contain_text("Stored: 4.9 s")
    expect(floor.clock).to_contain_text("Start")
    assert len(floor.server.acts) == 1


def test_without_a_network_results_wait_and_clocks_of_several_run(
    floor: Floor, athlete: Athlete, minor: Athlete, watch: Watch
) -> None:
    floor.server.is_away = True
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.open(minor)
    floor.touch(floor.clock, 1)
    expect(floor.page.locator("[data-running-of]:visible")).to_have_count(2)
    floor.touch(floor.clock, 4.05)
    expect(floor.logged).to_contain_text("Kept: 3 s, clean")
    floor.open(athlete)
    floor.touch(floor.button("Shoulders close"), 9.45)  # a verdict while the clock runs stops it
    expect(floor.logged).to_contain_text("Kept: 9.4 s, Shoulders close, band")
    expect(floor.logged).to_contain_text("“Long arms, look ahead”")
    expect(floor.tile(minor)).to_contain_text("1 waiting")
    stand = floor.page.locator("[data-slot=stand]")
    expect(stand).to_contain_text(re.compile(r"No network: as of \d\d:\d\d, 2 waiting"))
    floor.server.is_away = False
    floor.page.reload()
    expect(stand).to_have_text("Everything stored")
    assert [body["hold_tenths"] for body in floor.server.bodies("attempt")] == [30, 94]
    assert only_of_the_lost_network(floor.page, watch)


def test_a_fault_after_the_stop_enters_the_try_again_and_undo_takes_it_back(floor: Floor, athlete: Athlete) -> None:
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 5.25)
    expect(floor.logged).to_contain_text("5.2 s")
    floor.touch(floor.button("Shoulders close"), 7)
    expect(floor.logged).to_contain_text("Stored: 5.2 s, Shoulders close")
    floor.rest(7)
    floor.page.get_by_text("Undo", exact=True).tap()
    floor.button("Wrong time or count").tap()
    expect(floor.logged).to_contain_text("Taken back:")
    floor.settled()
    first, mend = floor.server.acts[0], floor.server.bodies("mend")[0]
    assert (mend["attempt"], mend["faults"]) == (first["id"], ["shoulders-close"])
    assert floor.server.bodies("void")[0]["reason"] == "Wrong time or count"


def test_a_try_goes_to_another_athlete_in_two_taps(floor: Floor, athlete: Athlete, minor: Athlete) -> None:
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 5.25)
    expect(floor.logged).to_contain_text("5.2 s")
    floor.rest(5.25)
    floor.page.get_by_text("Undo", exact=True).tap()
    floor.page.locator(f"[data-do=move][data-athlete='{minor.id}']").tap()
    expect(floor.tile(minor)).to_contain_text("5.2 s")
    floor.settled()
    (body,) = floor.server.bodies("move")
    assert (body["athlete"], body["closed_reason"]) == (str(minor.id), "")


def test_keys_count_sets_and_pain_pauses_at_once(floor: Floor, athlete: Athlete, watch: Watch) -> None:
    floor.open(athlete)
    for words in ("10 s", "× 3", "Clean"):
        floor.button(words).tap()
        floor.page.wait_for_timeout(PAUSE_MS)
    expect(floor.logged).to_contain_text("Stored: 3 × 10 s, clean, counted, band")
    (body,) = floor.server.bodies("attempt")
    assert (body["hold_tenths"], body["reps"], body["source"]) == (100, 3, "counted")
    floor.server.is_away = True
    floor.page.get_by_text("More: it hurt").tap()
    floor.button("Rest, then something else").tap()
    expect(floor.page.locator("[data-slot=paused]")).to_be_visible()
    expect(floor.clock).to_be_hidden()
    expect(floor.page.locator("[data-slot=open-steps]")).to_be_visible()
    expect(floor.tile(athlete)).to_contain_text("paused, it hurt")
    assert only_of_the_lost_network(floor.page, watch)


def test_a_doubtful_time_is_timed_only_until_one_tap_says_that_it_was_right(floor: Floor, athlete: Athlete) -> None:
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    expect(floor.clock).to_contain_text("Stop")
    floor.page.evaluate("() => { const real = Date.now; Date.now = () => real() + 4000; }")
    floor.touch(floor.clock, 5.55)
    expect(floor.logged).to_contain_text("Timed only: the device slept meanwhile.")
    floor.rest(5.55)
    floor.button("It was right: judged").tap()
    expect(floor.logged).not_to_contain_text("Timed only")
    floor.settled()
    (body,), (mend,) = floor.server.bodies("attempt"), floor.server.bodies("mend")
    assert (body["source"], body["doubt"], mend["source"]) == ("timed_only", "slept", "judged")


def test_what_the_server_refuses_is_said_on_the_tile(floor: Floor, athlete: Athlete) -> None:
    floor.server.refusal = "A hold lasts from 0.1 seconds to one hour."
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 5.25)
    expect(floor.tile(athlete)).to_contain_text("Refused: A hold lasts from 0.1 seconds to one hour.")
    expect(floor.says.get_by_role("link", name="Put it right")).to_be_visible()
    expect(floor.page.locator("[data-slot=stand]")).to_have_text("1 refused")


def test_a_full_device_says_so_and_keeps_the_time_in_the_page(floor: Floor, athlete: Athlete) -> None:
    floor.open(athlete)
    floor.page.evaluate("""() => { IDBObjectStore.prototype.realPut = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); }; }""")
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 5.25)
    expect(floor.page.get_by_role("alert")).to_contain_text("This tablet is full")
    expect(floor.tile(athlete)).to_contain_text("not kept")
    floor.page.evaluate("() => { IDBObjectStore.prototype.put = IDBObjectStore.prototype.realPut; }")
    floor.rest(5.25)
    floor.button("Keep it again").tap()
    expect(floor.logged).to_contain_text("Stored: 5.2 s")


def test_a_class_is_started_in_two_taps_with_a_guest(floor: Floor) -> None:
    page = floor.page
    page.get_by_role("link", name=floor.session.gym.name).tap()
    page.wait_for_timeout(PAUSE_MS)
    floor.button("Start the class").tap()
    expect(page.get_by_role("heading", name="Who is here")).to_be_visible()
    page.wait_for_timeout(PAUSE_MS)
    page.locator("[data-do=toggle-here]").first.tap()
    page.get_by_text("A guest", exact=True).tap()
    page.get_by_label("Name of the guest").fill("Gus Vale")
    page.get_by_label("an adult").tap()
    page.wait_for_timeout(PAUSE_MS)
    floor.button("Add the guest").tap()
    expect(page.locator(".tile")).to_have_count(2)
    floor.settled()
    kinds = [act["kind"] for act in floor.server.acts]
    assert kinds == ["start", "here", "guest"]
    assert floor.server.bodies("here")[0]["session"] == floor.server.acts[0]["id"]


def test_the_board_keeps_nobody_out(floor: Floor, athlete: Athlete) -> None:
    found: list[str] = []
    floor.open(athlete)
    floor.touch(floor.clock, 0)
    floor.touch(floor.clock, 5.25)
    expect(floor.logged).to_contain_text("5.2 s")
    for place in ("", f"/athlete/{athlete.id}", "/roster"):
        floor.page.goto(f"/floor/#/class/{floor.session.id}{place}")
        floor.page.wait_for_timeout(PAUSE_MS)
        found += looked_at(floor.page, place)
    floor.page.goto("/floor/#/")
    found += looked_at(floor.page, "classes")
    assert not found, "\n".join(found)


def looked_at(page: Page, name: str) -> list[str]:
    found = [f"{name}, folded: {finding}" for finding in inspection.axe_findings(page)]
    inspection.unfold(page)
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        found += [f"{name}, {scheme}: {finding}" for finding in inspection.axe_findings(page)]
    for screen in (PHONE, TABLET, TABLET_LANDSCAPE):
        page.set_viewport_size(screen["viewport"])
        found += [f"{name}: {each}" for each in inspection.small_targets(page, inspection.BOARD_TOUCH_PX)]
        found += [f"{name}: {each}" for each in inspection.too_wide(page)]
        found += inspection.small_words(page, ".tile-name", 22) + inspection.small_words(page, ".tile-missing", 18)
    return found


def test_a_hold_is_logged_by_keyboard_alone_and_closing_leads_back_to_the_tile(floor: Floor, athlete: Athlete) -> None:
    keyboard = floor.page.keyboard
    floor.tile(athlete).get_by_role("link").focus()
    keyboard.press("Enter")
    expect(floor.page.locator("#panel-title")).to_be_focused()
    floor.page.wait_for_timeout(PAUSE_MS)
    floor.clock.focus()
    keyboard.press("Space")
    expect(floor.clock).to_contain_text("Stop")
    floor.page.wait_for_timeout(PAUSE_MS)
    keyboard.press("Enter")
    expect(floor.logged).to_contain_text("Stored:")
    expect(floor.page.get_by_role("status")).to_contain_text("Kept:")
    floor.page.get_by_role("button", name="Close", exact=True).press("Enter")
    expect(floor.tile(athlete).get_by_role("link")).to_be_focused()


MEASURE = """() => {
  document.addEventListener("pointerdown", (event) => { window.feltAt = event.timeStamp; }, { capture: true });
  new MutationObserver(() => {
    const said = document.querySelector("[data-slot=logged]")?.textContent;
    if (said?.includes("Kept:")) window.saidAt ??= performance.now();
  }).observe(document.body, { childList: true, subtree: true, characterData: true, attributes: true });
}"""


def test_from_the_stop_to_the_word_that_it_is_kept(
    floor: Floor, athlete: Athlete, watch: Watch, record_property: Callable[[str, object], None]
) -> None:
    """A figure for the report; what is asserted is the order of things, and not how long they take on this machine."""
    floor.server.is_away = True
    floor.open(athlete)
    floor.page.evaluate(MEASURE)
    floor.clock.tap()
    floor.page.wait_for_timeout(PAUSE_MS)
    floor.clock.tap()
    expect(floor.logged).to_contain_text("Kept:")
    felt, said = (floor.page.evaluate(f"window.{name}") for name in ("feltAt", "saidAt"))
    assert felt < said
    record_property(
        measured.KEY, ["floor board, no network: from the stop to “Kept” on tile and panel", round(said - felt)]
    )
    assert only_of_the_lost_network(floor.page, watch)
