"""The board over plain http by a host name, as in a gym without a certificate.

A browser then has no service worker, no locks, no crypto.randomUUID, no wake lock and no clipboard. The page that is
open logs all the same, without a network too, and says that it must not be reloaded.
"""

import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any, Final
from urllib.parse import urlsplit

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, ConsoleMessage, Dialog, Error, Locator, Page, Playwright, expect
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from athletes.models import Athlete, HandOver, Membership
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from skills.models import Attempt, FloorAct, TrainingSession
from tests.browser.devices import CHROMIUM_FLAGS, TABLET
from tests.browser.floor.tablet import PAUSE_S, Tablet
from tests.browser.watch import Watch

pytestmark = pytest.mark.browser

HOST: Final = "gym.example"  # RFC 6761: nobody's name
CODE: Final = "402917"
OTHER_CODE: Final = "918273"
PLAIN: Final = "This tablet is not on https: do not reload this page while something waits or a clock runs."
UNCONFIRMED: Final = "not confirmed: type the code"
# A header of every page that a browser heeds on https alone; it says so of each page over plain http.
UNHEEDED: Final = "The Cross-Origin-Opener-Policy header has been ignored"
LATER: Final = "**/floor/screens.js*"
LostNetwork = Callable[[], bool]
SECURE_ALONE: Final = """() => ({
  isSecureContext,
  worker: "serviceWorker" in navigator,
  locks: "locks" in navigator,
  storage: "storage" in navigator,
  wakeLock: "wakeLock" in navigator,
  clipboard: "clipboard" in navigator,
  randomUUID: "randomUUID" in crypto,
})"""


class PlainWatch(Watch):
    """Minds all but the one thing that a browser says of every page over plain http."""

    def _note_console(self, message: ConsoleMessage) -> None:
        if not message.text.startswith(UNHEEDED):
            super()._note_console(message)


@pytest.fixture
def site(live_server: LiveServer, settings: Settings) -> str:
    """Return the address of the live server by its name."""
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, HOST]
    return f"http://{HOST}:{urlsplit(live_server.url).port}"


@pytest.fixture
def browser_by_name(playwright: Playwright, browser_type_launch_args: dict[str, Any]) -> Iterator[Browser]:
    """Start a browser of its own, for which the name is this machine, and every other name nobody."""
    rules = f"--host-resolver-rules=MAP {HOST} 127.0.0.1, MAP * ~NOTFOUND"
    flags = [flag for flag in CHROMIUM_FLAGS if not flag.startswith("--host-resolver-rules")]
    browser = playwright.chromium.launch(**{**browser_type_launch_args, "args": [*flags, rules]})
    yield browser
    browser.close()


@pytest.fixture
def watch(site: str) -> Iterator[Watch]:
    watch = PlainWatch(site)
    watch.expected |= {404}
    yield watch
    assert watch.misdeeds == []


@pytest.fixture
def page(browser_by_name: Browser, site: str, watch: Watch) -> Page:
    context = browser_by_name.new_context(**TABLET, base_url=site)
    watch.over(context)
    return context.new_page()


@pytest.fixture
def tablet(page: Page, session: TrainingSession, owner: Membership, coach: Membership) -> Tablet:
    """Let in by the owner's code, and taken over, through the screens alone; the class is open."""
    set_code(by=coach, code=CODE)
    tablet = Tablet(page)
    page.goto("/floor/")
    page.get_by_label("Code, such as").fill(add_tablet(by=owner, name="ring side").code)
    page.get_by_role("button", name="Let it in").tap()
    type_code(tablet, coach)
    tablet.in_class(session)
    return tablet


def notice(tablet: Tablet) -> Locator:
    return tablet.page.locator("[data-slot=notice]")


def type_code(tablet: Tablet, coach: Membership, code: str = CODE) -> None:
    tablet.tap(tablet.page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    for digit in code:
        tablet.tap(tablet.page.locator(f"[data-digit='{digit}']"))
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text(coach.person.full_name)


def stored() -> list[tuple[Athlete, int | None]]:
    """Return who held for how many tenths, in order of time. Each is one act, of just now."""
    rows = Attempt.objects.filter(void=None).select_related("athlete").order_by("happened_at")
    assert FloorAct.objects.filter(kind="attempt").count() == len(rows)
    assert all(abs(timezone.now() - row.happened_at) < timedelta(minutes=2) for row in rows)
    return [(row.athlete, row.hold_tenths) for row in rows]


def test_a_browser_gives_such_a_page_none_of_what_it_gives_over_https(tablet: Tablet) -> None:
    assert not any(tablet.page.evaluate(SECURE_ALONE).values())
    expect(notice(tablet)).to_have_text(PLAIN)


def test_clocks_that_run_and_results_that_wait_outlast_a_lost_network(
    *, tablet: Tablet, athlete: Athlete, minor: Athlete, lost_network: LostNetwork
) -> None:
    tablet.hold(athlete, 1.15)
    expect(tablet.logged).to_contain_text("Stored: 1.1 s, clean")
    tablet.open(minor)
    tablet.tap(tablet.clock)
    began_at = tablet.at
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Kept: 2.2 s, clean")
    expect(tablet.tile(minor)).to_contain_text("▶")
    tablet.open(minor)
    tenths = int((max(time.time(), tablet.at + PAUSE_S) - began_at) * 10) + 10
    tablet.at = began_at + tenths / 10 + 0.05
    tablet.touch(tablet.clock, tablet.at)
    expect(tablet.logged).to_contain_text("Kept:")
    expect(tablet.stand).to_contain_text("No network")
    expect(tablet.stand).to_contain_text("2 waiting")
    expect(notice(tablet)).to_have_text(PLAIN)
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert stored() == [(athlete, 11), (athlete, 22), (minor, tenths)]
    assert lost_network()


def test_two_tabs_without_locks_make_one_row_of_each_result(
    tablet: Tablet, session: TrainingSession, athlete: Athlete, lost_network: LostNetwork
) -> None:
    other = Tablet(tablet.context.new_page())
    other.in_class(session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    expect(other.stand).to_contain_text("1 waiting")
    tablet.context.set_offline(False)
    for each in (tablet, other):
        expect(each.stand).to_have_text("Everything stored", timeout=45_000)  # a lease may have to run out
    assert stored() == [(athlete, 22)]
    assert lost_network()


def test_every_screen_opens_without_a_network_and_the_outbox_can_be_copied(
    tablet: Tablet, session: TrainingSession, athlete: Athlete, lost_network: LostNetwork
) -> None:
    page = tablet.page
    page.reload()  # now nothing but what a class shows is there at once
    expect(page.locator("html")).to_have_attribute("data-ready", "")
    page.wait_for_function("() => performance.getEntriesByType('resource').some(({ name }) => /screens/.test(name))")
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Kept: 2.2 s, clean")
    title = page.get_by_role("heading", level=1)
    for place, words in (("group", "Group clock"), ("catch-up", "Catch up"), ("end", "End Monday class?")):
        tablet.go(f"#/class/{session.id}/{place}")
        expect(title).to_have_text(words)
    tablet.go("#/waiting")
    tablet.tap("Show as text")
    tablet.tap("Copy")
    expect(page.locator("#said")).to_have_text("The text is selected: copy it with the device's own command.")
    assert '"hold_tenths": 22' in page.evaluate("() => getSelection().toString()")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert stored() == [(athlete, 22)]
    assert lost_network()


def test_a_screen_that_cannot_be_fetched_says_so_and_is_asked_for_until_it_came(
    tablet: Tablet, athlete: Athlete, lost_network: LostNetwork
) -> None:
    page = tablet.page
    page.route(LATER, lambda route: route.abort())
    page.reload()
    expect(tablet.stand).to_have_text("Everything stored")
    before = page.evaluate("() => location.hash")
    tablet.tap(tablet.stand)
    expect(page.get_by_role("alert")).to_contain_text("it needs the network once")
    assert page.evaluate("() => location.hash") == before
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s, clean")
    page.wait_for_timeout(4000)  # by now the page has asked for it by itself as well, in vain
    page.unroute(LATER)
    with page.expect_response(LATER):
        pass
    tablet.context.set_offline(True)
    tablet.tap(tablet.stand)
    expect(page.get_by_role("heading", level=1)).to_have_text("What waits on this tablet")
    page.close()  # it asks on and on
    assert lost_network()


def test_a_hand_over_without_a_network_takes_away_no_warning(
    *, tablet: Tablet, owner: Membership, athlete: Athlete, lost_network: LostNetwork
) -> None:
    set_code(by=owner, code=OTHER_CODE)
    tablet.go("#/coach")
    expect(tablet.page.locator(f"[data-coach='{owner.id}']")).to_be_enabled()
    tablet.context.set_offline(True)
    type_code(tablet, owner, OTHER_CODE)
    unsure = tablet.page.locator("[data-slot=unsure]")
    expect(unsure).to_have_text(UNCONFIRMED)
    expect(notice(tablet)).to_have_text(PLAIN)  # as high as it was
    tablet.hold(athlete, 2.25)
    expect(tablet.stand).to_contain_text("1 waiting")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    expect(unsure).to_be_hidden()
    assert stored() == [(athlete, 22)]
    assert Attempt.objects.get().logged_by == owner
    assert HandOver.objects.get(coach=owner).claimed_at is not None
    assert lost_network()


def test_the_page_asks_before_it_is_reloaded_while_a_clock_runs_or_something_waits(
    tablet: Tablet, athlete: Athlete, lost_network: LostNetwork
) -> None:
    page = tablet.page
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    def reloaded() -> bool:
        page.evaluate("() => { window.isOld = true; setTimeout(() => location.reload()); }")
        page.wait_for_timeout(1000)
        return not page.evaluate("() => Boolean(window.isOld)")

    page.on("dialog", stay)
    tablet.open(athlete)
    tablet.tap(tablet.clock)
    expect(tablet.clock).to_contain_text("Stop")
    assert not reloaded()
    tablet.context.set_offline(True)
    tablet.tap(tablet.clock)
    expect(tablet.stand).to_contain_text("1 waiting")
    assert not reloaded()
    assert asked == ["beforeunload"] * 2
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert reloaded()  # nothing would be lost any more
    assert len(asked) == 2
    assert lost_network()


def test_a_finger_that_pulls_the_page_down_does_not_reload_it(tablet: Tablet) -> None:
    assert tablet.page.evaluate("() => getComputedStyle(document.documentElement).overscrollBehaviorY") == "none"


def test_a_page_that_is_lost_all_the_same_leaves_its_results_to_the_next_one(
    tablet: Tablet, session: TrainingSession, athlete: Athlete, lost_network: LostNetwork
) -> None:
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Kept: 2.2 s, clean")
    tablet.page.close()
    again = Tablet(tablet.context.new_page())
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        again.page.goto("/floor/")
    tablet.context.set_offline(False)
    again.in_class(session)
    expect(again.stand).to_have_text("Everything stored", timeout=45_000)  # the lost one may have had the lease
    assert stored() == [(athlete, 22)]
    assert lost_network()
