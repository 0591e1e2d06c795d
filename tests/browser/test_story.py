"""The whole job in one go, by touch on a tablet, as coach, athlete and owner go through it.

Nothing is put into the tables behind the pages' back but the people and the skills: every attempt and decision
is made on a page. The holds of earlier days are made on earlier days: the machine's clock is set to them.
A hold's seconds pass at once, by the browser's clock.
"""

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import pytest
import time_machine
from playwright.sync_api import Locator, Page, expect

from athletes.models import Athlete, Membership
from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.hands import Hands
from tests.factories.athletes import PASSWORD
from tests.factories.skills import library

pytestmark = pytest.mark.browser

_SECONDS = re.compile(r"([\d.]+) s,")

MONDAY, WEDNESDAY, FRIDAY = (f"2026-11-{day}T17:05:00+00:00" for day in ("09", "11", "13"))


@dataclass
class Class:
    """A coach's tablet during a class, and what was logged with it."""

    hands: Hands
    page: Page
    held: list[Decimal] = field(default_factory=list)
    tries: int = 0

    @property
    def panel(self) -> Locator:
        return self.page.locator("#panel")

    def begin(self, name: str) -> None:
        expect(self.page.get_by_role("heading", name="Today", level=1)).to_be_visible()
        self.hands.type("Name of the class", name)
        self.hands.tap("Start")
        expect(self.page.get_by_role("heading", name=name, level=1)).to_be_visible()

    def mark_present(self, name: str) -> None:
        self.hands.tap(self.panel.get_by_role("button", name=name))
        expect(self.panel.get_by_role("button", name=name)).to_contain_text("✓ here")

    def end(self) -> None:
        # A touch that comes before the script has a new panel in hand loads the athlete's own page: the way leads back.
        back = self.page.locator("a.back", has_text="← ")
        if back.is_visible():
            self.hands.tap(back)
        self.hands.tap("End class")
        self.hands.tap("End the class")
        expect(self.page.locator("#messages")).to_contain_text("has ended.")

    def take(self, name: str) -> None:
        self.hands.tap(self.page.locator(".tile").filter(has_text=name).get_by_role("link"))
        expect(self.panel.get_by_role("heading", name=name)).to_be_visible()

    def choose_step(self, name: str) -> None:
        self.hands.tap(self.panel.get_by_text("Another step", exact=True))
        self.hands.tap(self.panel.get_by_role("button", name=name))
        expect(self.panel.locator(".step-name")).to_contain_text(name)

    def log_hold(self, seconds: float, fault: str = "") -> None:
        """Clock a hold: stopping stores it as clean, and a fault is one tap more. What counts is what the page read."""
        self.hands.rest()
        self.hands.hold(seconds)
        logged = self.panel.locator(".logged")
        expect(logged).to_contain_text(re.compile(r"Stored: [\d.]+ s, clean"))
        shown = Decimal(_SECONDS.findall(logged.inner_text())[0])
        assert Decimal(str(seconds)) <= shown
        self.held.append(shown)
        self.tries += 1
        if fault:
            self.see(fault)

    def see(self, fault: str) -> None:
        """Tap the fault that was seen in the hold of just now."""
        self.hands.rest()
        self.hands.tap(fault)
        expect(self.panel.locator(".logged")).to_contain_text(f"Stored: {self.held[-1]} s, {fault}")

    def log_reps(self, reps: int, grade: str) -> None:
        """Count clean reps up, one touch each."""
        for _ in range(reps):
            self.hands.rest()
            self.hands.tap(self.panel.locator("[data-count]"))
        self.hands.tap(grade)
        self.hands.rest()
        self.hands.tap("Clean")
        expect(self.panel.locator(".logged")).to_contain_text(f"Stored: {_reps(reps)} to the {grade}, clean")
        self.tries += 1


def _reps(count: int) -> str:
    return "1 rep" if count == 1 else f"{count} reps"


@pytest.fixture
def klass(open_page: Callable[..., Page]) -> Class:
    page = open_page(TABLET)
    page.clock.install()
    return Class(Hands(page), page)


@pytest.fixture
def _people(owner: Membership, coach: Membership, athlete_member: Membership, minor: Athlete) -> None:
    """A gym with its people and skills, in which nothing has happened yet."""
    with time_machine.travel("2026-11-02T09:00:00+00:00"):
        library(owner.gym, owner)


@pytest.mark.usefixtures("_people")
def test_three_clean_holds_open_the_way_to_a_sign_off_the_athlete_and_the_month(
    klass: Class, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    with time_machine.travel(MONDAY):
        two_holds_on_monday(klass)
    with time_machine.travel(WEDNESDAY):
        one_more_on_wednesday(klass)
    with time_machine.travel(FRIDAY):
        clearance_on_friday(klass)
        what_the_athlete_reads(open_page(PHONE), klass)
        what_the_owner_reads(open_page(LAPTOP), klass, tmp_path)


def two_holds_on_monday(klass: Class) -> None:
    klass.hands.sign_in("cleo@harbour.example", PASSWORD)
    klass.begin("Monday class")
    klass.mark_present("Ada Lindqvist")
    klass.take("Ada Lindqvist")
    expect(klass.panel.locator(".step-name")).to_contain_text("1 Tucked hold in a long-arm hang")
    klass.log_hold(5.2)
    klass.log_hold(5)
    expect(klass.panel.locator(".missing")).to_contain_text("another day")
    klass.end()


def one_more_on_wednesday(klass: Class) -> None:
    klass.hands.sign_in("cleo@harbour.example", PASSWORD)  # after two days a sign-in of the staff has run out
    klass.begin("Wednesday class")
    klass.mark_present("Ada Lindqvist")
    klass.take("Ada Lindqvist")
    klass.log_hold(5.4)
    news = klass.panel.locator(".news")
    expect(news).to_contain_text(["Passed: 1 Tucked hold", "Opens: 2 Straight legs up", "Opens: 3 Strict pull-up"])
    klass.see("Shoulders close")
    undo_the_last(klass)
    klass.log_hold(6.1)
    # What the hold that was taken back had opened stayed open, with a flag: it is no news a second time.
    expect(news).to_have_text(["Passed: 1 Tucked hold in a long-arm hang"])
    klass.log_hold(3.3, "Knees give under the hold")
    klass.log_hold(5.1)
    klass.choose_step("3 Strict pull-up")
    klass.log_reps(2, "chin")
    klass.log_reps(1, "chest")
    klass.end()


def undo_the_last(klass: Class) -> None:
    klass.hands.tap(klass.panel.get_by_text("Undo", exact=True))
    klass.hands.tap("Clean or fault mis-tapped")
    expect(klass.page.locator("#messages")).to_contain_text("Taken back.")
    klass.held.pop()
    klass.tries -= 1


def clearance_on_friday(klass: Class) -> None:
    klass.hands.sign_in("cleo@harbour.example", PASSWORD)
    klass.begin("Friday class")
    klass.mark_present("Ada Lindqvist")
    klass.take("Ada Lindqvist")
    klass.choose_step("3 Strict pull-up")
    klass.log_reps(1, "chin")
    expect(klass.panel.locator(".news")).to_contain_text(
        ["Passed: 3 Strict pull-up", "Waits for clearance: 3a Tucked inverted hang"]
    )
    sign_off_the_entrance(klass)
    klass.hands.tap("Today")
    klass.hands.tap(klass.page.get_by_role("link", name="Friday class"))
    klass.take("Ada Lindqvist")
    klass.choose_step("3a Tucked inverted hang")
    klass.log_hold(5.6)


def sign_off_the_entrance(klass: Class) -> None:
    """The gate has come up in the queue; the coach lets the athlete in, spotted."""
    klass.hands.tap("Sign-offs")
    waiting = klass.page.locator(".queue li")
    expect(waiting).to_have_count(1)
    expect(waiting).to_contain_text("Ada Lindqvist")
    expect(waiting).to_contain_text("3a Tucked inverted hang")
    klass.hands.tap(waiting.get_by_role("link"))
    expect(klass.page.get_by_role("region", name="Evidence").get_by_role("row")).to_have_count(1 + 3)
    klass.hands.tap("May try it")
    klass.hands.tap("spotted: hands on or at arm's length")
    klass.hands.tap(klass.page.get_by_label("I have read the risk notes of this step"))
    klass.hands.tap("Record the decision")
    expect(klass.page.locator("#messages")).to_contain_text("3a Tucked inverted hang")
    expect(waiting).to_have_count(0)


def what_the_athlete_reads(page: Page, klass: Class) -> None:
    hands = Hands(page)
    hands.sign_in("ada@harbour.example", PASSWORD)
    expect(page.get_by_role("heading", name="Next step: 2 Straight legs up")).to_be_visible()
    expect(page.locator(".next .missing li")).to_have_text(["Two more clean holds of 5 s, on another day"])
    tries = page.locator("#tries")
    hands.tap(tries.locator("summary", has_text="The last tries"))
    expect(tries.locator("svg")).to_be_visible()
    hands.tap(tries.locator("summary", has_text="The same as a table"))
    expect(tries.get_by_role("row")).to_contain_text(["Seconds", str(klass.held[4]), str(klass.held[3])])
    hands.tap(page.locator("summary", has_text="The path so far"))
    path = page.get_by_role("list", name="The path so far").get_by_role("listitem")
    expect(path.filter(has_text="1 Tucked hold in a long-arm hang")).to_contain_text("passed")
    expect(path.filter(has_text="3a Tucked inverted hang")).to_contain_text("working on it")
    hands.tap(page.locator("summary", has_text="Clearances held"))
    expect(page.get_by_role("list", name="Clearances held")).to_contain_text("spotted")
    expect(page.locator("body")).not_to_contain_text("Mia")


def what_the_owner_reads(page: Page, klass: Class, folder: Path) -> None:
    hands = Hands(page, touches=False)
    hands.sign_in("olga@harbour.example", PASSWORD)
    expect(page.get_by_role("heading", name="November 2026")).to_be_visible()
    expect(page.get_by_role("row", name="Attempts").first.get_by_role("cell").first).to_have_text(str(klass.tries))
    with page.expect_download() as download:
        hands.tap("Export as CSV")
    file = folder / download.value.suggested_filename
    download.value.save_as(file)
    with file.open(encoding="utf-8-sig", newline="") as lines:
        *rows_read, last = csv.DictReader(lines)
    assert last["scope"] == "audit_chain"
    rows = {(row["scope"], row["name"]): row for row in rows_read}
    assert rows.keys() == {
        ("gym", "Harbour Hall"),
        ("skill", "Bar pullover"),
        ("skill", "Strict toes-to-bar"),
        ("coach", "Cleo Adeyemi"),
        ("coach", "No coach"),
    }
    logged = {
        "active_athletes": "1",
        "sessions": "3",
        "attempts": str(klass.tries),
        "clean_attempts": str(klass.tries - 1),
        "hold_seconds": str(sum(klass.held)),
        "signed_off": "1",
        "not_yet": "0",
        "revoked": "0",
    }
    for scope in (("gym", "Harbour Hall"), ("coach", "Cleo Adeyemi")):
        assert {name: rows[scope][name] for name in logged} == logged
    assert rows["gym", "Harbour Hall"]["steps_opened"] == "4"
    assert rows["coach", "No coach"]["steps_opened"] == "3"
