"""Letting a tablet in, setting a code, signing off in the hands of whom a tablet is in: in a browser."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership, Tablet
from skills.models import SignOff
from tests.browser.devices import LAPTOP, TABLET
from tests.browser.hands import PAUSE_MS
from tests.browser.test_accessible import judged
from tests.browser.world import World, build
from tests.factories.athletes import PASSWORD
from tests.helpers.floor import CODE

pytestmark = pytest.mark.browser
FLOOR = "/floor/#/class/01977d3c-0000-7000-8000-000000000001"


@pytest.fixture
def world(owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete) -> World:
    return build(owner, coach, athlete, minor)


def test_a_tablet_is_let_in_by_keyboard_and_its_code_keeps_nobody_out(
    open_page: Callable[..., Page], owner: Membership
) -> None:
    page = open_page(LAPTOP, owner)
    page.goto("/gym/tablets/add/")
    page.get_by_label("Name of the tablet").press_sequentially("wall")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="The code for “wall”")).to_be_visible()
    assert re.fullmatch(r"[A-Z2-9]{4}-[A-Z2-9]{4}", page.locator("code").inner_text())
    expect(page.get_by_text(f"{page.url.partition('/gym/')[0]}/floor/")).to_be_visible()
    found = [*judged(page, "tablet_add, with a code")]
    assert not found, "\n".join(found)
    assert Tablet.objects.get().name == "wall"


def test_a_weak_code_comes_back_and_a_good_one_is_set(open_page: Callable[..., Page], coach: Membership) -> None:
    page = open_page(TABLET, coach)
    page.goto("/my-code/")
    page.get_by_label("New code").fill("123456")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert").first).to_contain_text("Somebody would try this one first")
    expect(page.get_by_label("New code")).to_have_value("123456")
    found = [*judged(page, "my_code, refused")]
    assert not found, "\n".join(found)
    page.get_by_label("New code").fill(CODE)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Your code is set.")).to_be_visible()
    assert coach.coach_code.failures == 0


def test_whom_the_tablet_is_in_the_hands_of_signs_in_decides_and_is_back_on_the_floor(
    open_page: Callable[..., Page], world: World, owner: Membership, coach: Membership
) -> None:
    page = open_page(TABLET, owner)
    page.route("**/js/floor/**", lambda route: route.fulfill(body="", content_type="text/javascript"))
    page.goto(f"{world.address('sign_off')}?next={FLOOR.replace('#', '%23')}&signer={coach.id}")
    expect(page.get_by_role("heading", name="Cleo Adeyemi holds the tablet")).to_be_visible()
    found = [*judged(page, "sign_off, in the hands of another")]
    assert not found, "\n".join(found)
    page.get_by_role("button", name="Sign out, and sign in as Cleo Adeyemi").tap()
    page.get_by_label("E-mail address").fill(coach.account.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.wait_for_timeout(PAUSE_MS)
    page.get_by_role("button", name="Sign in", exact=True).tap()
    page.get_by_text("Has it", exact=True).tap()
    page.get_by_text("spotted: hands on").tap()
    page.wait_for_timeout(PAUSE_MS)
    page.get_by_role("button", name="Record the decision").tap()
    page.wait_for_url(f"**{FLOOR}")
    row = SignOff.objects.latest("happened_at")
    assert (row.signed_by, row.decision, row.clearance) == (coach, "passed", "spotted")
