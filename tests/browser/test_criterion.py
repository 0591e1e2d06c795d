"""A coach writes a nested rule by touch on a tablet: from nothing, over a mistake, through the trial, to the step."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from athletes.models import Athlete, Gym, Membership
from skills.models import CriterionVersion
from tests.browser import inspection
from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.hands import Hands
from tests.factories.athletes import Role, make_member
from tests.factories.skills import library, meet

pytestmark = pytest.mark.browser

AT = ["bar-pullover", "pullover-1"]
TYPE_ZERO = "(field) => { field.value = '0'; field.dispatchEvent(new Event('input', { bubbles: true })) }"
STEP, EDITOR = reverse("step", args=AT), reverse("criterion_edit", args=AT)


@pytest.fixture
def editor(gym: Gym, owner: Membership) -> Membership:
    library(gym, owner)
    return make_member(gym, Role.COACH, "Edda Roy", rights=("may_edit_skills",))


def told(page: Page) -> Locator:
    return page.locator("#told")


def press(hands: Hands, words: str, focus: str) -> None:
    """Touch a button of the editor, and wait until the part that it leads to has the focus."""
    hands.tap(words)
    expect(hands.page.locator(f'[id="{focus}"]')).to_be_focused()


def choose(page: Page, name: str, value: str, there: str) -> None:
    """Choose in a select, and wait for the field that comes with it."""
    page.locator(f"#{name}").select_option(value)
    expect(page.locator(f"#{there}")).to_be_visible()


def nothing_is_wrong(page: Page) -> None:
    inspection.unfold(page)
    found = [*inspection.axe_findings(page), *inspection.small_targets(page), *inspection.too_wide(page)]
    assert found == []


def test_a_nested_rule_from_nothing_to_the_step_page(
    open_page: Callable[..., Page], editor: Membership, coach: Membership, athlete: Athlete
) -> None:
    meet(coach, athlete, "pullover-1")
    page = open_page(TABLET, editor)
    hands = Hands(page)
    page.goto(STEP)
    hands.tap("Change the criterion")
    hands.tap("Remove: The whole condition")
    expect(told(page)).to_contain_text("No condition stands here yet.")
    build(hands)
    slip_and_mend(page)
    nothing_is_wrong(page)
    try_and_adopt(hands)
    expect(page.locator("#criterion + p")).to_have_text(
        re.compile("^Criterion: two clean judged holds of 20 s or longer")
    )
    hands.tap(page.get_by_text("Versions of the criterion"))
    expect(page.get_by_text("adopted by Edda Roy")).to_be_visible()
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 2


def build(hands: Hands) -> None:
    page = hands.page
    press(hands, "Add a condition", "c-word")
    page.locator("#c-count").fill("2")
    page.locator("#c-seconds").fill("20")
    expect(told(page)).to_contain_text("two clean judged holds of 20 s or longer.")
    press(hands, "Add a condition: The whole condition", "c-1-word")
    press(hands, "Put into a group: Condition 2", "c-1-word")
    choose(page, "c-1-word", "at_least", "c-1-count")
    page.locator("#c-1-count").fill("1")
    press(hands, "Add a condition: Group 2", "c-1-1-word")
    choose(page, "c-1-1-word", "last", "c-1-1-good")
    press(hands, "Add a condition: Group 2", "c-1-2-word")
    choose(page, "c-1-2-word", "step", "c-1-2-step")
    page.locator("#c-1-2-step").select_option("l-hold-1")
    hands.tap("Move up: Condition 2.3")
    expect(page.get_by_role("button", name="Move up: Condition 2.2")).to_be_focused()
    expect(told(page)).to_contain_text("two clean judged holds of 20 s or longer, and (at least one of: three clean")
    expect(told(page)).to_contain_text("is passed, or three clean of the last five judged tries, each a hold of 5 s")


def slip_and_mend(page: Page) -> None:
    """Nine of the last five: told beside the field while it is typed, without the focus or the texts being lost."""
    good = page.locator("#c-1-2-good")
    good.fill("9")
    expect(page.locator("#c-1-2-good-wrong")).to_contain_text("9 of the last 5 can never be reached.")
    expect(told(page)).to_contain_text("Not a rule yet: Condition 2.3, Clean tries")
    expect(good).to_have_attribute("aria-invalid", "true")
    expect(good).to_be_focused()
    assert inspection.axe_findings(page) == []
    good.fill("4")
    expect(told(page)).to_contain_text("four clean of the last five judged tries")
    expect(page.locator("#c-1-2-good-wrong")).to_be_empty()
    expect(good).not_to_have_attribute("aria-invalid", "true")


def try_and_adopt(hands: Hands) -> None:
    page = hands.page
    hands.tap("Try it on what has happened")
    expect(page.get_by_role("heading", level=1)).to_have_text("What this rule would do")
    nothing_is_wrong(page)
    hands.tap("Back to the editor")
    expect(told(page)).to_contain_text("four clean of the last five judged tries")
    hands.tap("Try it on what has happened")
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 1
    hands.tap("Adopt")
    expect(page.locator("#messages")).to_contain_text("The criterion holds from now on.")


def test_a_wrong_setting_that_is_folded_away_unfolds(open_page: Callable[..., Page], editor: Membership) -> None:
    page = open_page(TABLET, editor)
    page.goto(EDITOR)
    expect(page.locator("#c-window_days")).to_be_hidden()
    page.locator("#c-window_days").evaluate(TYPE_ZERO)
    expect(page.locator("#c-window_days-wrong")).to_contain_text("Write a whole number from 1 to 3660, not 0.")
    expect(page.locator("#c-window_days")).to_be_visible()


def test_the_deepest_rule_has_room_on_a_phone(open_page: Callable[..., Page], editor: Membership) -> None:
    page = open_page(PHONE, editor)
    page.goto(EDITOR)
    for level in range(5):
        name = "c" + "-0" * level
        page.locator(f'button[value="wrap:{name}"]').tap()
        expect(page.locator(f"#{name}-0-word")).to_be_visible()
    expect(page.get_by_text("Conditions stand at most 6 deep in one another")).to_be_visible()
    nothing_is_wrong(page)


def test_without_script_every_button_does_its_act(open_page: Callable[..., Page], editor: Membership) -> None:
    page = open_page(LAPTOP, editor, java_script_enabled=False)
    page.goto(EDITOR)
    page.locator("#c-seconds").fill("12,5")
    page.get_by_role("button", name="Put into a group: The whole condition").click()
    expect(page.locator("#c-0-seconds")).to_have_value("12,5")
    page.locator("#c-word").select_option("any")
    page.get_by_role("button", name="Say it").click()
    expect(told(page)).to_contain_text("either three clean judged holds of 12.5 s or longer")
    page.get_by_role("button", name="Try it on what has happened").click()
    page.get_by_role("button", name="Adopt", exact=True).click()
    expect(page.locator("#messages")).to_contain_text("The criterion holds from now on.")
