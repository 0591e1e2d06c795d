"""Twelve written steps from an empty installation to the month's file, each with what it costs in taps.

A tap is one touch or click; picking from a list or choosing a file is two. A field is one that is typed into,
however much. What is done in a shell costs neither: there, the gym's old sheet of holds is brought in, without which
nobody would stand at a gate on the first evening. The table is printed at the end of the run.
"""

import csv
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest
from django.core import mail
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.hands import Hands
from tests.plugins import taps

pytestmark = pytest.mark.browser

Record = Callable[[str, object], None]

PASSWORD = "chalk, tape and patience"
SIX = ("Ines Moreau", "Ravi Anand", "Tuva Berg", "Omar Haddad", "Lin Zhao", "Pilar Ortega")
# The low bar's step asks for two others before it. One is done; of the other a hold is left for tonight.
HELD_BEFORE = (
    ("pullover-1", "5.4", 9),
    ("pullover-1", "6.0", 7),
    ("pullover-1", "5.1", 7),
    ("pullover-5a", "10.3", 9),
    ("pullover-5a", "11.2", 7),
)


class Walk:
    """Three people with their devices, and what each step costs them."""

    def __init__(self, open_page: Callable[..., Page], record: Record, folder: Path) -> None:
        self.owner = Hands(open_page(LAPTOP), touches=False)
        self.coach = Hands(open_page(TABLET))
        self.athlete = Hands(open_page(PHONE))
        self.coach.page.clock.install()
        self.folder = folder
        self._record = record

    @contextmanager
    def step(self, name: str, *, at_most: int | None = None) -> Iterator[None]:
        """Count what a step costs; `at_most` taps where that is a promise."""
        before = self._cost()
        yield
        spent, typed = (now - then for now, then in zip(self._cost(), before, strict=True))
        self._record(taps.KEY, [name, spent, typed])
        assert at_most is None or spent <= at_most, f"{name}: {spent} taps, and {at_most} were promised"

    def _cost(self) -> tuple[int, int]:
        people = (self.owner, self.coach, self.athlete)
        return sum(hands.taps for hands in people), sum(hands.fields for hands in people)

    @property
    def panel(self) -> Locator:
        return self.coach.page.locator("#panel")

    def take(self, name: str) -> None:
        self.coach.tap(self.coach.page.locator(".tile").filter(has_text=name).get_by_role("link"))
        expect(self.panel.get_by_role("heading", name=name)).to_be_visible()
        self.coach.rest()

    def choose_step(self, name: str) -> None:
        self.coach.tap(self.panel.get_by_text("Another step", exact=True))
        self.coach.tap(self.panel.get_by_role("button", name=name))
        expect(self.panel.locator(".step-name")).to_contain_text(name)

    def finish_with(self, verdict: str, stored: str) -> None:
        self.coach.rest()
        self.coach.tap(verdict)
        self.reads(stored)

    def reads(self, stored: str) -> None:
        expect(self.panel.locator(".logged")).to_contain_text(stored)
        self.coach.rest()


def test_twelve_steps_from_nothing_to_the_months_file(
    open_page: Callable[..., Page], record_property: Record, tmp_path: Path
) -> None:
    walk = Walk(open_page, record_property, tmp_path)
    with walk.step("1 found the gym"):
        found_the_gym(walk.owner)
    with walk.step("2 invite a coach by mail"):
        invite_a_coach(walk.owner)
    with walk.step("3 import a roster"):
        import_a_roster(walk)
    with walk.step("4 invite an athlete by a printed code"):
        code = invite_an_athlete(walk.owner)
    with walk.step("5 join as the coach"):
        join_by_mail(walk.coach)
    bring_in_the_old_sheet(walk.folder)
    with walk.step("5 write two consents down"):
        write_consents_down(walk.coach)
    with walk.step("5 read the risk notes of a step before the class"):
        read_risk_notes(walk.coach)
    with walk.step("6 start a class", at_most=1):
        walk.coach.tap("Start")
        expect(walk.panel.get_by_role("heading", name="Who is here")).to_be_visible()
    with walk.step("7 mark six present", at_most=6):
        mark_six_present(walk)
    log_an_attempt_for_each(walk)
    with walk.step("9 sign one off", at_most=4):
        sign_one_off(walk)
    with walk.step("10 check the low bar by name, and use it"):
        check_the_low_bar(walk)
    with walk.step("11 join as the athlete"):
        join_by_code(walk.athlete, code)
    with walk.step("11 read one's own page"):
        read_the_own_page(walk.athlete)
    with walk.step("12 export the month", at_most=2):
        export_the_month(walk)


def found_the_gym(owner: Hands) -> None:
    owner.page.goto("/")
    expect(owner.page.get_by_role("heading", name="Set up your gym")).to_be_visible()
    owner.type("Name of the gym", "Quay Strength")
    owner.choose("Time zone", "Berlin")
    owner.type("Your name", "Oda Krantz")
    owner.type("Your e-mail address", "oda@quay.example")
    owner.type("Password", PASSWORD)
    owner.type("Password again", PASSWORD)
    owner.tap("Set up the gym")
    expect(owner.page.locator("#messages")).to_contain_text("Your gym stands, with its skills.")


def invite_a_coach(owner: Hands) -> None:
    owner.tap("Gym")
    owner.tap("Staff")
    owner.tap("Invite a coach")
    owner.type("Name", "Kofi Mensah")
    owner.type("E-mail address (optional)", "kofi@quay.example")
    owner.tap("sign off steps and give clearance")
    owner.tap("Invite them")
    expect(owner.page.get_by_role("main")).to_contain_text("It was also sent to kofi@quay.example")


def join_by_mail(coach: Hands) -> None:
    """Open the link of the mail, which is one touch, and choose a password."""
    (letter,) = (letter for letter in mail.outbox if letter.to == ["kofi@quay.example"])
    (link,) = re.findall(r"(http\S+/join/\S{20,})", str(letter.body))
    coach.taps += 1
    coach.page.goto(link)
    coach.type("Password", PASSWORD)
    coach.tap("Join with a new account")
    expect(coach.page.get_by_role("heading", name="Today", level=1)).to_be_visible()


def import_a_roster(walk: Walk) -> None:
    roster = walk.folder / "roster.csv"
    roster.write_text("name,birth_date\n" + "".join(f"{name},1991-04-1{place}\n" for place, name in enumerate(SIX)))
    walk.owner.tap("Athletes")
    walk.owner.tap("Import a roster")
    walk.owner.choose_file("CSV file (optional)", roster)
    walk.owner.tap("Look it over")
    walk.owner.tap("Add 6 athletes")
    expect(walk.owner.page.locator(".people li")).to_have_count(6)


def invite_an_athlete(owner: Hands) -> str:
    """Return the code on the sheet."""
    owner.tap(owner.page.get_by_role("listitem").filter(has_text="Ines Moreau").get_by_role("link", name="Change"))
    owner.tap("Invite to a log-in")
    owner.tap("Invite them")
    return owner.page.locator("code.key").inner_text()


def join_by_code(athlete: Hands, code: str) -> None:
    athlete.page.goto("/join/")
    athlete.type("Code", code)
    athlete.tap("Go on")
    athlete.type("Your e-mail address", "ines@quay.example")
    athlete.type("Password", PASSWORD)
    athlete.tap("Join with a new account")
    athlete.type("E-mail address", "ines@quay.example")
    athlete.type("Password", PASSWORD)
    athlete.tap("Sign in")
    expect(athlete.page.get_by_role("navigation", name="Main")).to_be_visible()


def bring_in_the_old_sheet(folder: Path) -> None:
    sheet = folder / "holds.csv"
    days = [timezone.localdate() - timedelta(days=days_ago) for _, _, days_ago in HELD_BEFORE]
    lines = [
        f"Ines Moreau,{code},{day},{seconds},judged\n"
        for (code, seconds, _), day in zip(HELD_BEFORE, days, strict=True)
    ]
    sheet.write_text("athlete,step,date,seconds,source\n" + "".join(lines))
    call_command("import_attempts", sheet, gym="quay-strength", by="kofi@quay.example")


def read_risk_notes(coach: Hands) -> None:
    coach.tap("Today")
    notes = coach.page.locator("details").filter(has=coach.page.locator("summary", has_text=re.compile(r"^\s*6 ")))
    coach.tap(notes.locator("summary"))
    coach.tap(notes.get_by_role("button", name="I have read these"))
    expect(coach.page.locator("#messages")).to_contain_text("Read: the risk notes of 6 ")


def write_consents_down(coach: Hands) -> None:
    coach.tap("Athletes")
    coach.tap(coach.page.get_by_role("listitem").filter(has_text="Ines Moreau").get_by_role("link").first)
    coach.tap(coach.page.get_by_role("main").get_by_role("link", name="Consents"))
    for what in ("hands-on spotting", "going upside down"):
        coach.tap(coach.page.get_by_role("button", name=re.compile(f"^The athlete agrees ?: {what}")))
        expect(coach.page.get_by_role("list", name="Said so far")).to_contain_text(what, ignore_case=True)
    coach.tap("Today")


def mark_six_present(walk: Walk) -> None:
    for name in SIX:
        walk.coach.tap(walk.panel.get_by_role("button", name=name))
        expect(walk.panel.get_by_role("button", name=name)).to_contain_text("✓ here")


def log_an_attempt_for_each(walk: Walk) -> None:
    with walk.step("8 log: a clean hold by the clock", at_most=1 + 2):
        walk.take("Ravi Anand")
        walk.coach.hold(5.2)
        walk.reads("s, clean")
    with walk.step("8 log: a fault seen after the stop", at_most=1):
        walk.coach.tap("Shoulders close")
        walk.reads("s, Shoulders close")
    with walk.step("8 log: a hold that breaks with a fault", at_most=1 + 2):
        walk.take("Omar Haddad")
        walk.coach.tap(walk.panel.locator("[data-clock]"))
        walk.coach.page.clock.fast_forward(3400)
        walk.finish_with("Shoulders close", "Shoulders close")
    with walk.step("8 log: a counted hold by its key", at_most=1 + 2):
        walk.take("Tuva Berg")
        walk.coach.tap("10 s")
        walk.finish_with("Clean", "Stored: 10 s, clean, counted")
    with walk.step("8 log: a hold with a band", at_most=1 + 3):
        walk.take("Lin Zhao")
        walk.coach.tap("band")
        walk.coach.hold(6.3)
        walk.reads("band")
    with walk.step("8 log: a hold with the band of last time", at_most=2):
        walk.coach.hold(6.1)
        walk.reads("band")
    with walk.step("8 log: a hold tapped in for the wrong athlete, put right", at_most=1 + 2 + 2):
        walk.take("Tuva Berg")
        walk.coach.hold(4.4)
        walk.reads("s, clean")
        walk.coach.tap(walk.panel.get_by_text("Undo", exact=True))
        walk.coach.tap(walk.panel.get_by_role("button", name="Omar Haddad"))
        expect(walk.panel.get_by_role("heading", name="Omar Haddad")).to_be_visible()
        walk.reads("s, clean")
    with walk.step("8 log: reps of another step", at_most=1 + 4):
        walk.take("Pilar Ortega")
        walk.choose_step("1 Seated leg lift")
        walk.coach.tap(walk.panel.get_by_role("button", name="8", exact=True))
        walk.finish_with("Clean", "Stored: 8 reps, clean")
    with walk.step("8 log: the hold that meets a step", at_most=1 + 4):
        walk.take("Ines Moreau")
        walk.choose_step("5a ")
        walk.coach.hold(10.4)
        walk.reads("s, clean")
        expect(walk.panel.locator(".news")).to_contain_text(["Passed: 5a", "Waits for clearance: 6"])


def sign_one_off(walk: Walk) -> None:
    walk.coach.tap(walk.panel.locator(".news").get_by_role("link"))
    walk.coach.tap("May try it")
    walk.coach.tap("spotted: hands on or at arm's length")
    walk.coach.tap("Record the decision")
    expect(walk.coach.page.locator("#messages")).to_contain_text("Ines Moreau")


def check_the_low_bar(walk: Walk) -> None:
    walk.choose_step("6 ")
    expect(walk.panel.get_by_role("heading", name="Look the low bar over first")).to_be_visible()
    for line in walk.panel.get_by_role("checkbox").all():
        walk.coach.tap(line)
    walk.coach.type("Which bar", "short bar by the window")
    walk.coach.tap("I checked this bar")
    expect(walk.panel).to_contain_text("Bar checked today: short bar by the window")
    walk.coach.rest()
    walk.coach.tap(walk.panel.locator("[data-count]"))
    walk.finish_with("Clean", "Stored: 1 rep, clean")


def read_the_own_page(athlete: Hands) -> None:
    athlete.tap("My progress")
    expect(athlete.page.get_by_role("heading", name="Next step: ")).to_be_visible()
    athlete.tap(athlete.page.locator("summary", has_text="Clearances held"))
    expect(athlete.page.get_by_role("list", name="Clearances held")).to_contain_text("spotted")


def export_the_month(walk: Walk) -> None:
    walk.owner.tap("Month")
    with walk.owner.page.expect_download() as download:
        walk.owner.tap("Export as CSV")
    file = walk.folder / "month.csv"
    download.value.save_as(file)
    with file.open(encoding="utf-8-sig", newline="") as lines:
        gym = next(csv.DictReader(lines))
    assert gym["name"] == "Quay Strength"
    assert gym["active_athletes"] == "6"
    assert (gym["signed_off"], gym["sessions"]) == ("1", "1")
