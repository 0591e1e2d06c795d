"""A rack is described, its hole read for a body and for a group, and a re-set confirmed by its check; by touch."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.models import Athlete, BodyMeasure, Membership
from skills.models import Bar, BarCheck
from tests.browser import inspection
from tests.browser.devices import TABLET
from tests.factories.skills import library, reach, start_class

pytestmark = pytest.mark.browser


def _measured(athlete: Athlete, chest: str, armpit: str) -> None:
    BodyMeasure.objects.create(
        gym=athlete.gym,
        athlete=athlete,
        measured_on=timezone.localdate(),
        stature_m=Decimal("1.700"),
        chest_m=Decimal(chest),
        armpit_m=Decimal(armpit),
    )


def _describe_the_rack(page: Page) -> None:
    page.goto(reverse("bars"))
    page.get_by_role("button", name="Add a bar").tap()
    page.get_by_label("Name").fill("low bar by the door")
    page.get_by_label("Kind").select_option("tied")
    page.get_by_label("Diameter").fill("28 mm")
    page.get_by_label("Height in the lowest hole").fill("40 cm")
    page.get_by_label("From hole to hole").fill("50 mm")
    page.get_by_label("How many holes").fill("30")
    page.get_by_role("button", name="Add the bar").tap()
    expect(page.get_by_role("heading", name="low bar by the door")).to_be_visible()
    expect(page.get_by_text("holes 1 to 30, 50.0 mm apart, 40.0 cm to 185.0 cm")).to_be_visible()


def _check(page: Page) -> None:
    expect(page.get_by_role("heading", name="Set and check")).to_be_visible()
    for box in page.get_by_role("checkbox").all():
        box.tap()
    page.get_by_role("button", name="I set and checked this bar").tap()


def test_a_rack_is_described_read_for_one_and_for_several_and_checked_after_each_re_set(
    open_page: Callable[..., Page], owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    library(coach.gym, owner)
    reach(coach, athlete, "pullover-6")
    session = start_class(coach, athlete, minor, focus="pullover-6")
    _measured(athlete, "1.260", "1.340")
    _measured(minor, "1.190", "1.265")
    page = open_page(TABLET, owner)
    _describe_the_rack(page)

    page.goto(reverse("session_athlete", args=[session.id, athlete.id]))
    page.get_by_role("link", name="How to set it for this body").tap()
    expect(page.get_by_text("hole 18, 125.0 cm over the floor: 1 cm below the chest")).to_be_visible()
    expect(page.get_by_text("in front: measure it and enter it at the bar")).to_be_visible()
    page.get_by_role("button", name="Set into hole 18 and check").tap()
    page.get_by_role("checkbox").first.tap()
    page.get_by_role("button", name="I set and checked this bar").tap()
    expect(page.get_by_role("alert")).to_contain_text("The bar stays shut until all is so")
    page.get_by_role("checkbox").first.tap()  # it stays ticked; untick it, so that all five are alike
    _check(page)
    expect(page.get_by_text("Checked today at")).to_contain_text("in hole 18")

    page.goto(reverse("session", args=[session.id]))
    page.get_by_role("button", name="Set a bar").tap()
    expect(page.get_by_role("heading", name="One bar for several")).to_be_visible()
    for box in page.get_by_role("checkbox").all():
        box.tap()
    page.get_by_role("button", name="Show the hole").tap()
    expect(page.get_by_text("hole 17, 120.0 cm over the floor: for 2 of 2")).to_be_visible()
    assert not inspection.too_wide(page)
    page.get_by_role("button", name="Set into hole 17 and check").tap()
    _check(page)
    expect(page.get_by_text("Checked today at")).to_contain_text("in hole 17")
    checks = BarCheck.objects.order_by("happened_at").values_list("of", "hole", "session")
    low = Bar.objects.get().id
    assert [*checks] == [(low, 18, None), (low, 17, session.id)]

    page.goto(reverse("session_athlete", args=[session.id, athlete.id]))
    expect(page.get_by_text("Bar checked today: low bar by the door, hole 17")).to_be_visible()
