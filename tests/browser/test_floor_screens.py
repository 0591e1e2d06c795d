"""The screens beside the floor board: a tablet is let in and handed over, a group hangs, what waits is looked after."""

import json
import time
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from playwright.sync_api import CDPSession, Locator, Page, Route, expect

from athletes.models import Athlete, HandOver, Membership, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from skills.models import TrainingSession
from tests.browser.devices import PHONE, TABLET, Device
from tests.browser.hands import PAUSE_MS, Hands, middle_of
from tests.browser.inspection import BOARD_TOUCH_PX, axe_findings, small_targets, small_words, too_wide
from tests.browser.watch import Watch
from tests.factories.skills import library, start_class

pytestmark = pytest.mark.browser

CODE = "402917"
OTHER_CODE = "918273"
COUNT_IN_S = 3.0
GROUP = ".group-person:not(:disabled)"


@dataclass
class Floor:
    """A tablet on the floor; what it posts about people is held up, as by a server that takes its time."""

    page: Page
    session: TrainingSession
    hands: Hands
    driver: CDPSession
    held_up: list[Route]

    def tap(self, target: Locator | str) -> None:
        """Touch after a hand's pause: a second touch within 0.3 s is taken for a slip."""
        self.page.wait_for_timeout(PAUSE_MS)
        self.hands.tap(target)

    def go(self, place: str) -> None:
        self.page.evaluate("(place) => { location.hash = place; }", place)

    def in_class(self, place: str = "") -> None:
        self.go(f"#/class/{self.session.id}/{place}")

    def type_code(self, code: str) -> None:
        for digit in code:
            self.hands.tap(self.page.locator(f"[data-digit='{digit}']"))

    def take_over(self, coach: Membership, code: str) -> None:
        self.tap(self.page.locator(f"[data-coach='{coach.id}']"))
        self.type_code(code)

    def touch(self, target: Locator, at: float) -> None:
        """Touch a place, as felt at a moment in seconds since 1970."""
        point = middle_of(target)
        for kind, points, moment in (("touchStart", [point], at), ("touchEnd", [], at + 0.02)):
            self.driver.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points, "timestamp": moment})

    @property
    def holder(self) -> Locator:
        return self.page.locator("[data-slot=holder]")


Let = Callable[..., Floor]


@pytest.fixture(autouse=True)
def expected(watch: Watch) -> None:
    watch.expected |= {403}  # wrong codes


@pytest.fixture
def let_in(
    open_page: Callable[..., Page], owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete
) -> Let:
    """Let a device in by an owner's code typed on it: nobody holds it yet."""
    library(athlete.gym, coach)
    session = start_class(coach, athlete, minor)
    set_code(by=coach, code=CODE)
    set_code(by=owner, code=OTHER_CODE)

    def let(device: Device = TABLET) -> Floor:
        page = open_page(device)
        held_up: list[Route] = []
        page.context.route("**/api/v1/floor/acts/", lambda route: held_up.append(route))  # noqa: PLW0108 (it is marked)
        page.goto("/floor/")
        floor = Floor(page, session, Hands(page), page.context.new_cdp_session(page), held_up)
        page.get_by_label("Code, such as").fill(add_tablet(by=owner, name="ring side").code.lower())
        floor.tap("Let it in")
        expect(page.get_by_role("heading", name="Who holds this tablet?")).to_be_visible()
        return floor

    return let


@pytest.fixture
def floor(let_in: Let, coach: Membership) -> Floor:
    floor = let_in()
    floor.take_over(coach, CODE)
    expect(floor.page.get_by_role("heading", name="Classes today")).to_be_visible()
    floor.in_class()
    expect(floor.page.locator(".tile")).to_have_count(2)
    return floor


def only_of_the_lost_network(watch: Watch) -> bool:
    complaints, watch.misdeeds[:] = [*watch.misdeeds], []
    return all("ERR_INTERNET_DISCONNECTED" in each for each in complaints)


# ---- Letting in, handing over ------------------------------------------------------------------------------------


def test_a_code_lets_a_tablet_in_and_a_coach_takes_it_over(let_in: Let, coach: Membership, owner: Membership) -> None:
    floor = let_in()
    assert Tablet.objects.get().enrolled_at is not None
    floor.take_over(coach, "111333")
    expect(floor.page.locator("#pad-mistake")).to_contain_text("That is not the code.")
    floor.type_code(CODE)
    expect(floor.holder).to_have_text(coach.person.full_name)
    expect(floor.page.get_by_role("heading", name="Classes today")).to_be_visible()
    assert [row.coach for row in HandOver.objects.all()] == [coach]
    floor.go("#/coach")
    floor.take_over(owner, "000999")
    expect(floor.page.locator("#pad-mistake")).to_contain_text("That is not the code.")
    expect(floor.holder).to_have_text(coach.person.full_name)


def test_a_wrong_enrolment_code_is_told_and_stays_typed(open_page: Callable[..., Page]) -> None:
    page = open_page(TABLET)
    page.goto("/floor/")
    field = page.get_by_label("Code, such as")
    field.fill("abcdefgh")
    expect(field).to_have_value("ABCD-EFGH")
    Hands(page).tap("Let it in")
    expect(page.locator("#enrol-mistake")).not_to_be_empty()
    expect(field).to_have_value("ABCD-EFGH")


def test_a_second_coach_takes_over_without_a_network_and_is_confirmed_later(
    floor: Floor, coach: Membership, owner: Membership, watch: Watch
) -> None:
    floor.page.context.set_offline(True)
    floor.go("#/coach")
    floor.take_over(owner, OTHER_CODE)
    expect(floor.holder).to_have_text(owner.person.full_name)
    expect(floor.page.locator("[data-slot=unsure]")).to_have_text("not confirmed: type the code")
    expect(floor.page.locator(".tile")).to_have_count(2)  # back at the place that it was taken over from
    assert not HandOver.objects.filter(coach=owner).exists()
    floor.page.context.set_offline(False)
    expect(floor.page.locator("[data-slot=unsure]")).to_be_hidden()
    claimed = HandOver.objects.get(coach=owner)
    assert claimed.claimed_at is not None
    assert claimed.claimed_at <= claimed.confirmed_at
    assert only_of_the_lost_network(watch)


# ---- The group clock ---------------------------------------------------------------------------------------------


def test_a_group_has_its_target_but_for_who_came_down(floor: Floor, athlete: Athlete, minor: Athlete) -> None:
    floor.in_class("group")
    expect(floor.page.locator(GROUP)).to_have_count(2)
    floor.tap("Everybody")
    expect(floor.page.locator("[data-slot=group]")).to_have_text("2 at 5 s")
    began_at = time.time() + 0.4
    floor.touch(floor.page.locator("[data-do=group-start]"), began_at)
    people = floor.page.locator(GROUP)
    expect(people.first).to_contain_text("hangs")
    floor.touch(people.nth(1), began_at + COUNT_IN_S + 1.25)
    expect(people.nth(1)).to_contain_text("down at 1.2 s")
    results = floor.page.locator(".result")
    expect(results).to_have_count(2)
    expect(results.nth(0)).to_contain_text("5 s, clean, timed only")
    expect(results.nth(1)).to_contain_text("1.2 s, clean, timed only")
    expect(results.nth(1)).to_contain_text("Under 2 s: kept, and no hold.")
    floor.tap(results.nth(0).get_by_role("button", name="I watched it: judged"))
    expect(results.nth(0)).not_to_contain_text("timed only")
    expect(results.nth(1)).to_contain_text("timed only")


def test_two_who_come_down_at_once_both_count_and_end_it(floor: Floor) -> None:
    floor.in_class("group")
    expect(floor.page.locator(GROUP)).to_have_count(2)
    floor.tap("Everybody")
    floor.tap(floor.page.get_by_role("button", name="20 s"))
    began_at = time.time() + 0.4
    floor.touch(floor.page.locator("[data-do=group-start]"), began_at)
    people = floor.page.locator(GROUP)
    expect(people.first).to_contain_text("hangs")
    for place in (0, 1):
        floor.touch(people.nth(place), began_at + COUNT_IN_S + 1.55 + place / 50)
    results = floor.page.locator(".result")
    expect(results).to_have_count(2)  # nobody hangs any more: it has ended
    expect(results.nth(0)).to_contain_text("1.5 s")
    floor.tap("The same group again")
    expect(floor.page.locator(f"{GROUP}[aria-pressed=true]")).to_have_count(2)


# ---- Catching up, what waits, leaving ----------------------------------------------------------------------------


def test_one_without_the_clock_is_added_from_the_catch_up_list(floor: Floor, athlete: Athlete) -> None:
    floor.in_class("catch-up")
    expect(floor.page.get_by_text("Nothing was logged in the last ten minutes.")).to_be_visible()
    floor.tap(floor.page.locator(f"[data-do=choose-who][data-athlete='{athlete.id}']"))
    floor.tap("10 s")
    floor.tap("× 2")
    floor.tap("A partner timed it")
    row = floor.page.locator(".result")
    expect(row).to_contain_text("2 × 10 s, clean, timed only")
    floor.tap("I watched it: judged")
    expect(row).to_have_count(1)
    expect(row).not_to_contain_text("timed only")


def test_what_waits_is_listed_with_its_reason_and_signing_out_asks_first(
    floor: Floor, athlete: Athlete, watch: Watch
) -> None:
    floor.in_class("catch-up")
    floor.tap(floor.page.locator(f"[data-do=choose-who][data-athlete='{athlete.id}']"))
    floor.tap("I counted it, clean")
    floor.go("#/waiting")
    expect(floor.page.locator("[data-slot=count]")).to_have_text("1 waiting")
    expect(floor.page.locator(".waiting-entry")).to_contain_text("5 s, counted")
    floor.tap("Show as text")
    expect(floor.page.locator("#export-text")).not_to_have_value("")
    kept = json.loads(floor.page.locator("#export-text").input_value())
    assert [entry["body"]["athlete"] for entry in kept["entries"]] == [str(athlete.id)]
    floor.go("#/leave")
    expect(floor.page.locator("[data-slot=outbox-words]")).to_have_text("1 entry still waits to be sent.")
    floor.tap("Sign out, and keep them here")
    expect(floor.page.get_by_role("heading", name="Who holds this tablet?")).to_be_visible()
    floor.go("#/waiting")
    expect(floor.page.locator("[data-slot=count]")).to_have_text("1 waiting")
    expect(floor.page.locator(".waiting-entry")).to_contain_text("Waits for the code of")
    expect(floor.page.locator("body")).not_to_contain_text(athlete.person.full_name)
    assert HandOver.objects.exclude(ended_at=None).count() == 1


def test_the_end_of_a_class_names_who_has_nothing_logged(floor: Floor, athlete: Athlete, minor: Athlete) -> None:
    floor.in_class("end")
    expect(floor.page.locator("[data-slot=people] .row")).to_have_count(2)
    floor.in_class("catch-up")
    floor.tap(floor.page.locator(f"[data-do=choose-who][data-athlete='{athlete.id}']"))
    floor.tap("I counted it, clean")
    floor.in_class("end")
    expect(floor.page.locator("[data-slot=people] .row")).to_have_count(1)
    floor.tap("End the class")
    expect(floor.page.get_by_role("heading", name="Classes today")).to_be_visible()
    expect(floor.page.locator("[data-slot=about]").first).to_contain_text("ended")


# ---- Everybody can use them --------------------------------------------------------------------------------------


@pytest.mark.parametrize("held", [TABLET, PHONE])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_screen_is_accessible_and_its_targets_are_large(
    let_in: Let, coach: Membership, held: Device, scheme: str
) -> None:
    floor = let_in(held | {"color_scheme": scheme})
    found = _found(floor, "coach")
    floor.tap(floor.page.locator(f"[data-coach='{coach.id}']"))
    found += _found(floor, "pad")
    floor.type_code(CODE)
    expect(floor.page.get_by_role("heading", name="Classes today")).to_be_visible()
    for place in ("group", "catch-up", "end"):
        floor.in_class(place)
        expect(
            floor.page.get_by_role("button", name="To the class").or_(floor.page.get_by_role("button", name="Go on"))
        ).to_be_visible()
        found += _found(floor, place)
    for place in ("waiting", "leave"):
        floor.go(f"#/{place}")
        expect(floor.page.get_by_role("heading", level=1)).to_contain_text("tablet")
        found += _found(floor, place)
    assert found == []


def _found(floor: Floor, place: str) -> list[str]:
    page = floor.page
    small = [*small_words(page, ".group-person .tile-name", 22), *small_words(page, ".group-person .tile-missing", 18)]
    return [
        f"{place}: {each}"
        for each in (*axe_findings(page), *small_targets(page, BOARD_TOUCH_PX), *too_wide(page), *small)
    ]
