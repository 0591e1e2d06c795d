"""The wall of a class: legible from six metres, turned by itself where not everybody fits, true without a network."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any, Final

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership
from skills.models import TrainingSession
from skills.services.class_runs import mark_rotation
from skills.services.sessions import mark_present
from tests.browser import inspection
from tests.browser.devices import LAPTOP, TABLET
from tests.browser.watch import Watch
from tests.factories.athletes import make_athlete, make_consent
from tests.factories.class_plans import make_hall, make_place
from tests.factories.class_runs import keep_plan
from tests.factories.skills import library, start_class

pytestmark = pytest.mark.browser

SCREENS: Final = [(1920, 1080), (1280, 720), (1024, 768)]
# Every piece of text that can be seen: how high it is written as a part of the screen, and where it stands.
TEXTS: Final = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const range = document.createRange();
    range.selectNodeContents(node);
    const box = range.getBoundingClientRect();
    const isSeen = node.data.trim() && node.parentElement.checkVisibility() && box.left < innerWidth && box.right > 0;
    const size = parseFloat(getComputedStyle(node.parentElement).fontSize) / innerHeight;
    const ends = { bottom: box.bottom / innerHeight, right: box.right / innerWidth };
    if (isSeen) found.push({ words: node.data.trim(), size, ...ends });
  }
  return found;
}"""


@pytest.fixture
def session(coach: Membership) -> TrainingSession:
    """Sixteen people at seven stations, three rotations of ten minutes."""
    book = library(coach.gym)
    people = [make_athlete(coach.gym, f"Somebody Longish {number}") for number in range(16)]
    session = start_class(coach, *people)
    hall = make_hall(coach.gym)
    hall |= {name: make_place(coach.gym, name, "floor", 4) for name in ("mat by the window", "box", "wall")}
    places, codes = [*hall], [*book.steps]
    told = {
        person: [_turn(codes[(number + rotation) % 20], places[(number + rotation) % 7]) for rotation in range(3)]
        for number, person in enumerate(people)
    }
    keep_plan(coach, session, told, hall)
    return session


def _turn(code: str, place: str) -> tuple[str, str, int | None]:
    return code, place, 7 if place == "low" else None


@pytest.fixture
def wall(open_page: Callable[..., Page], coach: Membership, session: TrainingSession) -> Callable[..., Page]:
    def opened(width: int = 1920, height: int = 1080, seconds_ago: int = 0, **more: Any) -> Page:
        begun = timezone.now() - timedelta(seconds=seconds_ago)
        mark_rotation(by=coach, session=session, rotation=0, happened_at=begun)
        page = open_page(LAPTOP | {"viewport": {"width": width, "height": height}}, coach, **more)
        page.goto(reverse("class_wall", args=[session.id]))
        expect(page.get_by_role("heading", name="Rotation 1 of 3")).to_be_visible()
        return page

    return opened


@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_everything_on_the_wall_is_at_least_a_twenty_fifth_of_its_height(
    wall: Callable[..., Page], width: int, height: int
) -> None:
    page = wall(width, height)
    page.evaluate("document.getElementById('lost').hidden = false; document.getElementById('lost').textContent = 'x'")
    texts = page.evaluate(TEXTS)
    assert len(texts) > 25
    assert {text["words"] for text in texts if text["size"] < 0.04} == set()
    assert {text["words"] for text in texts if text["bottom"] > 1} == set()


@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_everybody_has_a_turn_on_the_wall_where_one_page_has_no_room(
    wall: Callable[..., Page], width: int, height: int
) -> None:
    page = wall(width, height)
    numbers = set(range(1, 17))
    seen: set[int] = set()
    for _ in range(8):
        texts = page.evaluate(TEXTS)
        assert not [text for text in texts if text["bottom"] > 1 or text["right"] > 1.001]
        seen |= {int(text["words"]) for text in texts if text["words"].isdecimal()}
        if seen >= numbers:
            break
        shown = page.locator(".wall-turn:not([hidden]) [data-page]")
        expect(shown).not_to_have_text(shown.inner_text(), timeout=30_000)
    assert seen >= numbers


def test_a_tap_of_a_coach_is_on_the_wall_within_seconds(
    wall: Callable[..., Page], coach: Membership, session: TrainingSession
) -> None:
    page = wall()
    statuses: list[int] = []
    page.on("response", lambda answer: statuses.append(answer.status))
    expect(page.locator(".wall-station li").first).to_be_visible()
    page.wait_for_timeout(11_000)
    assert 304 in statuses  # what is the same is not sent again
    mark_rotation(by=coach, session=session, rotation=1)
    expect(page.get_by_role("heading", name="Rotation 2 of 3")).to_be_visible()
    mark_rotation(by=coach, session=session, rotation=3)
    expect(page.get_by_role("heading", name="The last rotation is over")).to_be_visible()


def test_the_wall_goes_on_by_the_plan_without_a_network_and_says_so(
    wall: Callable[..., Page], watch: Watch, coach: Membership, session: TrainingSession
) -> None:
    page = wall(seconds_ago=10 * 60 - 20)
    expect(page.locator(".wall-turn:not([hidden]) [data-left]")).to_have_text(re.compile(r"0:\d\d"))
    page.context.set_offline(True)
    expect(page.get_by_text(re.compile(r"No network: as of \d\d:\d\d"))).to_be_visible()
    expect(page.get_by_role("heading", name="Rotation 2 of 3")).to_be_visible(timeout=40_000)
    page.context.set_offline(False)
    expect(page.get_by_text("No network")).to_be_hidden()
    assert all("ERR_INTERNET_DISCONNECTED" in each for each in watch.misdeeds)
    watch.misdeeds.clear()


def test_without_script_the_wall_shows_everybody_and_loads_itself_anew(wall: Callable[..., Page]) -> None:
    page = wall(java_script_enabled=False)
    people = page.locator(".wall-turn:not([hidden]) .wall-station li")
    assert people.count() == 16
    expect(page.locator("noscript meta[http-equiv=refresh]")).to_have_count(1)
    people.last.scroll_into_view_if_needed()
    expect(people.last).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_wall_keeps_nobody_out(wall: Callable[..., Page], scheme: str) -> None:
    page = wall(color_scheme=scheme)
    assert not inspection.axe_findings(page)


def test_a_name_that_was_not_agreed_to_is_a_number(
    open_page: Callable[..., Page], coach: Membership, session: TrainingSession, minor: Athlete
) -> None:
    make_consent(minor, by=coach, kind="board", extent="number")
    mark_present(by=coach, session=session, athlete=minor)
    page = open_page(LAPTOP, coach)
    page.goto(reverse("class_wall", args=[session.id]))
    row = page.get_by_role("listitem").filter(has_text=re.compile(rf"^{minor.number}\b")).first
    expect(row).to_have_text(str(minor.number))


def test_a_class_page_that_stays_open_hears_of_the_next_rotation(
    open_page: Callable[..., Page], coach: Membership, session: TrainingSession
) -> None:
    mark_rotation(by=coach, session=session, rotation=0)
    page = open_page(TABLET, coach)
    page.goto(reverse("session", args=[session.id]))
    expect(page.locator("#run [data-until]")).to_have_text(re.compile(r"9:\d\d|10:00"))
    first = page.locator(".tile").first
    expect(first).to_contain_text("Now: high bar · then low bar, hole 7")
    mark_rotation(by=coach, session=session, rotation=1)
    expect(page.get_by_role("heading", name="Rotation 2 of 3")).to_be_visible(timeout=40_000)
    expect(first).to_contain_text("Now: low bar, hole 7 · then rings")
    page.get_by_role("button", name="On to rotation 3").tap()
    expect(page.get_by_role("heading", name="Rotation 3 of 3")).to_be_visible()
    page.get_by_role("button", name="Back to rotation 2").tap()
    expect(page.get_by_role("heading", name="Rotation 2 of 3")).to_be_visible()
    found = inspection.axe_findings(page) + inspection.too_wide(page)
    for button in page.locator("#run :is(button, [role=button])").all():
        box = button.bounding_box()
        assert box
        assert box["height"] >= inspection.BOARD_TOUCH_PX
    assert not found
