"""Sets counted aloud: seconds and reps by their keys, without the clock; what is taken back stays in the history."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from athletes.models import Athlete, Membership
from skills.models import Attempt, TrainingSession
from tests.browser.devices import PHONE, TABLET, TABLET_LANDSCAPE, Device
from tests.browser.floor.tablet import Opened, Tablet
from tests.factories.skills import step_of

pytestmark = pytest.mark.browser

TOO_WIDE = """() => [...document.querySelectorAll(".panel, .panel *")]
  .filter((node) => node.checkVisibility() && !node.closest(".unseen, .one-line"))
  .filter((node) => node.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
  .map((node) => node.outerHTML.slice(0, 80))"""


def count(tablet: Tablet, *keys: str) -> None:
    for key in (*keys, "Clean"):
        tablet.tap(key)


@pytest.mark.parametrize("screen", [TABLET, TABLET_LANDSCAPE, PHONE], ids=["upright", "across", "phone"])
def test_the_words_of_a_counted_set_stay_inside_the_panel(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, screen: Device
) -> None:
    tablet = tablet_of(coach, device=screen)
    tablet.in_class(session, f"/athlete/{athlete.id}")
    count(tablet, "10 s", "× 3")
    expect(tablet.logged).to_contain_text("Stored: 3 × 10 s, clean, counted")
    expect(tablet.page.locator("[data-slot=mend-legend]")).to_contain_text("3 × 10 s, clean, counted")
    assert tablet.page.evaluate(TOO_WIDE) == []


def test_a_counted_set_is_three_taps_and_one_more_takes_the_last_key_in_its_place(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, f"/athlete/{athlete.id}")
    before = tablet.taps
    count(tablet, "10 s", "× 3")
    assert tablet.taps - before == 3
    expect(tablet.logged).to_contain_text("Stored: 3 × 10 s, clean, counted")
    count(tablet, "5 s", "20 s", "× 5", "× 2")
    expect(tablet.logged).to_contain_text("Stored: 2 × 20 s, clean, counted")
    count(tablet, "5 s")
    expect(tablet.logged).to_contain_text("Stored: 5 s, clean, counted")
    rows = Attempt.objects.order_by("happened_at")
    assert [(row.hold_tenths, row.reps, row.source) for row in rows] == [
        (100, 3, "counted"),
        (200, 2, "counted"),
        (50, 1, "counted"),
    ]


def test_what_is_taken_back_is_told_and_stays_in_the_history_with_its_reason(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    client_of: Callable[[Membership], Client],
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, f"/athlete/{athlete.id}")
    count(tablet, "10 s")
    expect(tablet.logged).to_contain_text("Stored: 10 s")
    tablet.tap(tablet.page.locator("[data-slot=undo] > summary"))
    tablet.tap("Wrong time or count")
    expect(tablet.page.locator("#said")).to_contain_text("Taken back: 10 s")
    expect(tablet.stand).to_have_text("Everything stored")
    expect(tablet.tile(athlete)).to_contain_text("no try yet")
    history = client_of(coach).get(reverse("athlete", args=[athlete.id])).text
    assert "taken back: Wrong time or count" in history
    assert Attempt.objects.get().hold_tenths == 100


def test_the_keys_for_reps_go_with_the_step_of_reps(
    *, tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, f"/athlete/{athlete.id}")
    reps = tablet.page.get_by_role("group", name="Reps in one tap")
    expect(reps).to_have_count(0)
    tablet.page.locator(".choices-box > summary").tap()
    tablet.tap(tablet.page.locator(f"[data-do=step][data-step='{step_of(athlete.gym, 'toes-1').id}']"))
    expect(reps.get_by_role("button")).to_have_text(["1", "2", "3", "4", "5", "6", "8", "10"])
    tablet.open(minor)
    expect(reps).to_have_count(0)
