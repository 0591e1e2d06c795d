"""A class by keyboard alone: Tab, Enter and Space, from the code to the end; the focus is seen, and never lost."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from playwright.sync_api import Locator, Page, expect

from athletes.models import Athlete, Membership
from athletes.services.coach_codes import set_code
from skills.models import Attempt, TrainingSession
from tests.browser import inspection
from tests.browser.devices import LAPTOP, TABLET, Device
from tests.browser.floor.tablet import let_in
from tests.browser.watch import Watch
from tests.factories.skills import library
from tests.helpers.floor import CODE, enrolled

pytestmark = pytest.mark.browser

PAUSE_MS = 400  # a second touch within 0.3 s is taken for a slip
FOCUSED = """(target) => { const at = document.activeElement; return at === target || target.contains(at); }"""
COVERED = """() => {
  const at = document.activeElement;
  const box = at.getBoundingClientRect();
  const over = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return at.contains(over) || over?.contains(at) ? "" : `${at.outerHTML} is under ${over?.outerHTML}`;
}"""
LOST = "() => document.activeElement === document.body || !document.activeElement.checkVisibility()"


@dataclass
class Keyboard:
    """Hands that reach a page by its keys alone."""

    page: Page

    def press(self, key: str) -> None:
        self.page.wait_for_timeout(PAUSE_MS)
        self.page.keyboard.press(key)

    def reach(self, target: Locator, *, most: int = 120) -> None:
        """Press Tab until the target has the focus, which must be seen, and under nothing, at every stop on the way."""
        expect(target).to_be_visible()
        for _ in range(most):
            if target.evaluate(FOCUSED):
                break
            self.page.keyboard.press("Tab")
            if not self.page.evaluate(LOST):  # beyond the last control comes the browser's own, then the first
                assert inspection.unseen_focus(self.page) == []
                assert not self.page.evaluate(COVERED)
        expect(target).to_be_focused()

    def use(self, target: Locator, key: str = "Enter") -> None:
        self.reach(target)
        self.press(key)

    def keeps_its_place(self) -> None:
        """The focus has gone nowhere, or to something that is there."""
        self.page.wait_for_timeout(100)
        assert not self.page.evaluate(LOST)

    def button(self, words: str) -> Locator:
        return self.page.get_by_role("button", name=words, exact=True).locator("visible=true").first

    def said(self, words: str) -> None:
        expect(self.page.locator("#said")).to_contain_text(words)


Begin = Callable[..., Keyboard]


@pytest.fixture
def at_the_code(
    *,
    open_page: Callable[..., Page],
    owner: Membership,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    watch: Watch,
) -> Begin:
    """A tablet that was let in, at its list of coaches."""
    watch.expected |= {403, 404}

    def begin(device: Device = TABLET) -> Keyboard:
        library(athlete.gym, coach)
        page = open_page(device)
        let_in(page, enrolled(owner), coach)
        set_code(by=coach, code=CODE)
        page.goto("/floor/#/coach")
        expect(page.get_by_role("heading", name="Who holds this tablet?")).to_be_focused()
        return Keyboard(page)

    return begin


@pytest.mark.parametrize("size", [TABLET, LAPTOP], ids=["tablet", "laptop"])
def test_a_class_by_keyboard_alone(
    at_the_code: Begin, coach: Membership, athlete: Athlete, minor: Athlete, size: Device
) -> None:
    keys = at_the_code(size)
    takes_over_and_begins(keys, coach, athlete, minor)
    holds_and_mends(keys, athlete)
    counts_and_takes_back(keys, athlete)
    runs_the_group(keys)
    ends_it(keys)
    session = TrainingSession.objects.get()
    assert session.ended_at is not None
    logged = Attempt.objects.filter(session=session, void=None, athlete=athlete).order_by("happened_at")
    assert [(row.source, row.faults) for row in logged] == [("judged", ["shoulders-close"]), ("timed_only", [])]


def takes_over_and_begins(keys: Keyboard, coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    page = keys.page
    keys.use(page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    expect(page.locator("#pad-title")).to_be_focused()
    keys.reach(page.get_by_label("Six digits"))
    page.keyboard.type(CODE)
    expect(page.get_by_role("heading", name="Classes today")).to_be_visible()
    keys.keeps_its_place()
    keys.said("holds this tablet")
    expect(page.locator("#class-name")).not_to_have_value("")
    keys.use(keys.button("Start the class"))
    expect(page.get_by_role("heading", name="Who is here")).to_be_visible()
    keys.keeps_its_place()
    for who in (athlete, minor):
        row = page.locator(f"[data-do=toggle-here][data-athlete='{who.id}']")
        keys.use(row, "Space")
        expect(row).to_have_attribute("aria-pressed", "true")
        expect(row).to_be_focused()
    expect(page.locator("[data-slot=stand]")).to_have_text("Everything stored")
    expect(page.get_by_text("Step not known yet")).to_have_count(0)


def holds_and_mends(keys: Keyboard, athlete: Athlete) -> None:
    page = keys.page
    keys.use(page.locator(f".tile[data-athlete='{athlete.id}']").get_by_role("link"))
    expect(page.locator("#panel-title")).to_be_focused()
    clock = page.locator(".clock[data-do=clock]")
    keys.use(clock, "Space")
    expect(clock).to_contain_text("Stop")
    expect(clock).to_be_focused()
    page.wait_for_timeout(2200)
    keys.press("Space")
    keys.said("Kept: 2")
    expect(page.locator("[data-slot=logged]")).to_contain_text("Stored:")
    expect(clock).to_be_focused()  # whatever was painted anew since
    keys.use(keys.button("Shoulders close"))
    keys.said("Shoulders close")
    keys.keeps_its_place()
    expect(page.locator("[data-slot=logged]")).to_contain_text("Stored:")


def counts_and_takes_back(keys: Keyboard, athlete: Athlete) -> None:
    page = keys.page
    for words in ("10 s", "× 3", "Clean"):
        keys.use(keys.button(words))
        keys.keeps_its_place()
    keys.said("3 × 10 s")
    expect(page.locator("[data-slot=logged]")).to_contain_text("Stored: 3 × 10 s")
    keys.use(page.locator(".undo summary"))
    keys.use(keys.button("Wrong time or count"))
    keys.said("Taken back: 3 × 10 s")
    keys.keeps_its_place()
    keys.use(keys.button("Close"))
    expect(page.locator(f".tile[data-athlete='{athlete.id}']").get_by_role("link")).to_be_focused()


def runs_the_group(keys: Keyboard) -> None:
    page = keys.page
    keys.use(keys.button("Group clock"))
    expect(page.get_by_role("heading", name="Group clock")).to_be_focused()
    keys.reach(page.get_by_label("or seconds"))
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("2")
    keys.use(keys.button("Everybody"))
    keys.use(page.locator("[data-do=group-start]"))
    expect(page.locator("[data-slot=of]")).to_be_visible()
    keys.keeps_its_place()
    expect(page.locator("[data-slot=said]")).to_have_text("Time runs")
    expect(page.locator(".result")).to_have_count(2)
    keys.keeps_its_place()
    judge = page.get_by_role("button", name="I watched it: judged").locator("visible=true").last
    keys.use(judge)
    expect(page.get_by_role("button", name="I watched it: judged").locator("visible=true")).to_have_count(1)
    keys.keeps_its_place()
    keys.use(page.get_by_role("button", name="To the class"))
    expect(page.locator(".tile")).to_have_count(2)
    keys.keeps_its_place()


def ends_it(keys: Keyboard) -> None:
    page = keys.page
    keys.use(keys.button("End class"))
    expect(page.get_by_role("heading", name="End ")).to_be_focused()
    keys.use(keys.button("End the class"))
    expect(page.get_by_role("heading", name="Classes today")).to_be_visible()
    keys.said("The class has ended.")
    keys.keeps_its_place()
    expect(page.locator("[data-slot=stand]")).to_have_text("Everything stored")
