"""A step written by touch on a tablet: two faults, one moved, and what comes first."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Membership
from skills.models import Step
from tests.browser import inspection
from tests.browser.devices import TABLET
from tests.browser.hands import Hands
from tests.browser.test_accessible import judged
from tests.browser.watch import Watch
from tests.factories.skills import library, step_of

pytestmark = pytest.mark.browser


def test_a_step_with_two_faults_is_written_and_connected(
    open_page: Callable[..., Page], watch: Watch, owner: Membership
) -> None:
    watch.expected |= {422}
    library(owner.gym, owner)
    hands = Hands(open_page(TABLET, owner))
    page = hands.page
    page.goto("/skills/l-hold/")
    hands.tap("Add a step")
    expect(page.get_by_role("heading", name="Add a step", level=1)).to_be_visible()
    for label, words in (("Number", "9"), ("Name", "L-hold with a pause"), ("What it teaches", "A longer hold.")):
        hands.type(label, words)
    _rows(hands)
    hands.tap(page.locator("summary").get_by_text("Bar pullover"))
    hands.tap("2 Straight legs up and held at the bar")
    hands.tap("Save the step")
    expect(page.get_by_role("alert")).to_contain_text("Sets: Is empty.")
    assert not [*judged(page, "step_add")]
    page.set_viewport_size(TABLET["viewport"])
    for label, words in (("Sets", "3"), ("Reps in a set", "1"), ("Seconds of rest", "60"), ("Days a week", "2")):
        hands.type(label, words)
    page.locator("[name=dose_hold_seconds]").fill("5")
    hands.tap("Save the step")
    expect(page.get_by_role("heading", name="9 L-hold with a pause", level=1)).to_be_visible()
    _stored(owner)


def _rows(hands: Hands) -> None:
    """Write a row of each list that needs one, and two faults, the second of which moves up."""
    page = hands.page
    for label, words in (("Caution", "Stop when it hurts."), ("Line", "A mat."), ("A clean try shows", "Legs level.")):
        hands.type(label, words)
    hands.type("Fault", "Knees bend")
    hands.type("Cue that mends it", "Thighs tight")
    hands.tap("Add a fault")
    expect(page.get_by_role("group", name="Fault 2")).to_be_visible()
    expect(page.get_by_label("Fault", exact=True).first).to_have_value("Knees bend")
    second = page.get_by_role("group", name="Fault 2")
    second.get_by_label("Fault", exact=True).fill("Falls back")
    second.get_by_label("Cue that mends it").fill("Chest tall")
    hands.tap(second.get_by_text("Dangerous"))
    hands.tap("Move fault 2 up")
    expect(page.get_by_label("Fault", exact=True).first).to_have_value("Falls back")
    expect(page.get_by_label("Name", exact=True)).to_have_value("L-hold with a pause")
    hands.type("Name of the other drill", "Sit")
    hands.type("How it is done", "Sit tall.")
    assert inspection.small_targets(page, inspection.TOUCH_PX) == []


def _stored(owner: Membership) -> None:
    step: Step = step_of(owner.gym, "l-hold-9")
    faults = step.faults.values_list("code", "dangerous")
    assert [*faults] == [("falls-back", True), ("knees-bend", False)]
    assert [edge.requires.code for edge in step.prerequisites.all()] == ["pullover-2"]
    assert step.criteria.get().number == 1
