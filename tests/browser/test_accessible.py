"""Every page, with something on it, can be used by everybody: axe in light and in dark, room, size of touch
targets, size of words at arm's length, keyboard alone.
"""

from collections.abc import Callable, Iterator
from http import HTTPStatus
from typing import Literal

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from athletes.models import Athlete, Membership
from tests.architecture.routes import LOGGERS, OWNER, PAGES, PEOPLE, SIGNED_IN, SIGNERS, STAFF
from tests.browser import inspection
from tests.browser.devices import LAPTOP, PHONE, TABLET, TABLET_LANDSCAPE
from tests.browser.watch import Watch
from tests.browser.world import NAMES, World, build

pytestmark = pytest.mark.browser

BOARD_PAGES = {"session", "session_athlete", "class_plan", "class_plan_person"}
FLOOR_FILES = {"floor_app", "floor_screens", "floor_styles", "floor_manifest", "service_worker"}
# A redirect; shut while there is a gym, and looked at below; files.
NO_PAGES = {"home", "set_up", "skill_export", "skill_schema"} | FLOOR_FILES
NO_PAGES |= {"month_csv", "acts_csv", "incidents_csv", "equipment_csv", "progress_pdf", "linked_pdf", "class_plan_pdf"}
NO_PAGES |= {"join_code", "join_accept"}  # want an invitation in hand: looked at in test_joining.py
NO_PAGES |= {"link_open", "link_choose", "linked"}  # want a private link in hand: looked at in test_private_links.py
ALSO_POSTED = {"caution_add", "session_present"}  # stand in the table by their POST; their GET is the form
# Pages for everybody who is signed in are looked at in test_accessible_accounts.
SHOWN = {
    name for name, page in PAGES.items() if page.method == "get" and page.may != SIGNED_IN
} - NO_PAGES | ALSO_POSTED
VISITS = {
    "owner": {name for name in SHOWN if PAGES[name].may == OWNER} | {"step"},
    "coach": {name for name in SHOWN if PAGES[name].may in {STAFF, LOGGERS, SIGNERS}}
    | {"consents", "contacts", "floor", "join", "join_sent", "private_links"},
    "athlete_member": {"my_progress", "my_data", "who_sees", "kept", "erasure_mine", "skills", "skill", "step"},
    "guardian": {name for name in SHOWN if PAGES[name].may <= PEOPLE}
    | {"consents", "contacts", "my_data", "private_links"},
}


@pytest.fixture
def world(owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete) -> World:
    return build(owner, coach, athlete, minor)


def test_every_page_is_visited_by_somebody() -> None:
    assert set().union(*VISITS.values()) == SHOWN


@pytest.mark.parametrize("who", VISITS)
def test_pages_of_the_gym_keep_nobody_out(
    request: pytest.FixtureRequest, open_page: Callable[..., Page], world: World, who: str
) -> None:
    page = open_page(TABLET, request.getfixturevalue(who))
    found = [finding for name in sorted(VISITS[who]) for finding in looked_at(page, name, world.address(name))]
    assert not found, "\n".join(found)


def looked_at(page: Page, name: str, address: str, status: int = HTTPStatus.OK) -> Iterator[str]:
    """Everything that is wrong with a page, on a tablet in both schemes with all parts unfolded, and on a phone."""
    page.set_viewport_size(TABLET["viewport"])
    page.emulate_media(color_scheme="light")
    answer = page.goto(address)
    assert answer
    assert answer.status == status, name
    yield from judged(page, name)


def judged(page: Page, name: str) -> Iterator[str]:
    least = inspection.BOARD_TOUCH_PX if name in BOARD_PAGES else inspection.TOUCH_PX
    yield from (f"{name}, folded: {finding}" for finding in inspection.axe_findings(page))
    schemes: tuple[Literal["dark", "light"], ...] = ("dark", "light") if inspection.unfold(page) else ("dark",)
    for scheme in schemes:
        page.emulate_media(color_scheme=scheme)
        yield from (f"{name}, {scheme}: {finding}" for finding in inspection.axe_findings(page))
    for device in (TABLET, PHONE):
        page.set_viewport_size(device["viewport"])
        where = f"{name}, {device['viewport']['width']} px"
        yield from (f"{where}: {finding}" for finding in inspection.small_targets(page, least))
        yield from (f"{where}: {finding}" for finding in inspection.too_wide(page))


def test_the_founding_page_keeps_nobody_out(open_page: Callable[..., Page], db: None) -> None:
    found = [*looked_at(open_page(TABLET), "set_up", reverse("set_up"))]
    assert not found, "\n".join(found)


COME_BACK = {
    "session_athlete": "Clean",
    "sign_off": "Record the decision",
    "athlete_add": "Add the athlete",
    "athlete": "Take it back",  # leads to a page of its own
}


def test_forms_that_come_back_keep_nobody_out(open_page: Callable[..., Page], world: World, coach: Membership) -> None:
    page = open_page(TABLET, coach)
    found: list[str] = []
    for name, button in COME_BACK.items():
        page.set_viewport_size(TABLET["viewport"])
        page.goto(world.address(name))
        inspection.unfold(page)
        if name == "session_athlete":
            page.get_by_label("Seconds", exact=True).fill("five")
        page.get_by_role("button", name=button, exact=True).first.tap()
        expect(page.get_by_role("alert").first).to_be_visible()
        found += judged(page, name)
    assert not found, "\n".join(found)


def test_pages_that_say_no_keep_nobody_out(
    open_page: Callable[..., Page], watch: Watch, owner: Membership, coach: Membership
) -> None:
    watch.expected |= {HTTPStatus.FORBIDDEN, HTTPStatus.NOT_FOUND}
    page = open_page(TABLET, coach)
    nowhere, no_month = "/nowhere/", reverse("month_of", args=["1800-13"])
    found = [
        *looked_at(page, "nowhere", nowhere, HTTPStatus.NOT_FOUND),
        *looked_at(page, "not mine", reverse("gym"), HTTPStatus.FORBIDDEN),
        *looked_at(open_page(TABLET, owner), "no month", no_month, HTTPStatus.NOT_FOUND),
    ]
    assert not found, "\n".join(found)


# ---- The board ------------------------------------------------------------------------------------------------


def test_words_on_the_board_are_read_at_arms_length(
    open_page: Callable[..., Page], world: World, coach: Membership
) -> None:
    page = open_page(TABLET, coach)
    page.goto(world.address("session"))
    expect(page.locator(".tile-name")).to_have_count(2 + len(NAMES))
    expect(page.locator(".tile-missing")).not_to_have_count(0)
    for screen in (TABLET, TABLET_LANDSCAPE, PHONE):
        page.set_viewport_size(screen["viewport"])
        assert inspection.small_words(page, ".tile-name", 22) + inspection.small_words(page, ".tile-missing", 18) == []


def test_the_open_panel_keeps_nobody_out(open_page: Callable[..., Page], world: World, coach: Membership) -> None:
    page = open_page(TABLET, coach)
    page.goto(world.address("session"))
    page.locator(".tile").get_by_role("link").first.tap()
    expect(page.locator("#panel-title")).to_be_focused()
    found = [*judged(page, "session")]
    assert not found, "\n".join(found)


def test_a_hold_is_logged_from_the_board_by_keyboard_alone(
    open_page: Callable[..., Page], world: World, coach: Membership
) -> None:
    page = open_page(LAPTOP, coach)
    page.clock.install()
    page.goto(world.address("session"))
    tab_to(page, page.locator(".tile").get_by_role("link").first)
    page.keyboard.press("Enter")
    expect(page.locator("#panel-title")).to_be_focused()
    clock = page.locator("[data-clock]")
    passed = tab_to(page, clock)
    assert "Close" in passed
    page.keyboard.press("Space")
    expect(clock).to_contain_text("Stop")
    page.clock.fast_forward(5300)
    page.keyboard.press("Enter")
    logged = page.locator(".logged")
    expect(logged).to_contain_text("Stored: 5.")
    expect(page.locator("#panel-title")).to_be_focused()
    word = page.locator("[data-mend] button").first
    assert "seconds" in tab_to(page, word)
    page.clock.fast_forward(400)
    page.keyboard.press("Enter")
    expect(logged.locator(".cue")).to_be_visible()
    expect(page.locator("#panel-title")).to_be_focused()


def test_where_the_keyboard_is_can_be_seen(open_page: Callable[..., Page], world: World, coach: Membership) -> None:
    page = open_page(LAPTOP, coach)
    unseen: list[str] = []
    for name in ("session", "session_athlete", "sign_off", "today", "athlete"):
        page.goto(world.address(name))
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("() => document.activeElement === document.body"):
                break
            unseen += [f"{name}: {words}" for words in inspection.unseen_focus(page)]
    assert not unseen, "\n".join(unseen)


def tab_to(page: Page, target: Locator) -> list[str]:
    """Press Tab until the target has the focus; return the names of what was passed on the way."""
    passed: list[str] = []
    for _ in range(80):
        page.keyboard.press("Tab")
        if target.evaluate("(one) => one === document.activeElement"):
            return passed
        passed.append(page.evaluate("() => document.activeElement.name || document.activeElement.textContent.trim()"))
    raise AssertionError(f"Tab leads past {target}: {passed}")
