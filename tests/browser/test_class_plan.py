"""Stations are described, a class is planned, somebody is fixed and swapped, and what clashes is let go; by touch."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Membership
from skills.models import WorkPlace
from skills.queries.kept_plans import whole_plan_of
from tests.browser import inspection
from tests.browser.devices import PHONE, TABLET
from tests.factories.athletes import make_athlete
from tests.factories.bars import make_low_bar
from tests.factories.class_plans import make_measured
from tests.factories.skills import library, reach, start_class

pytestmark = pytest.mark.browser


def _describe(page: Page, name: str, kind: str, capacity: str, bar: str = "") -> None:
    page.goto(reverse("work_places"))
    page.get_by_role("button", name="Add a station").tap()
    page.get_by_label("Name").fill(name)
    page.get_by_label("Kind").select_option(kind)
    page.get_by_label("How many can work there").fill(capacity)
    if bar:
        page.get_by_label("Which bar of the list").select_option(label=bar)
    page.get_by_label("Where a spotter stands").fill("at the left side")
    page.get_by_role("button", name="Add the station").tap()
    expect(page.get_by_role("heading", name=name, exact=True)).to_be_visible()


def _fix(page: Page, who: str, rotation: int, button: str) -> None:
    page.locator(f"#rotation-{rotation}").get_by_role("link", name=re.compile(who)).first.tap()
    page.get_by_role("button", name=re.compile(button)).first.tap()


def _easy(page: Page) -> list[str]:
    """What is wrong with the page for fingers and eyes, on a tablet and a phone."""
    found = inspection.axe_findings(page)
    for device in (PHONE, TABLET):
        page.set_viewport_size(device["viewport"])
        found += inspection.small_targets(page, inspection.BOARD_TOUCH_PX) + inspection.too_wide(page)
    return found


def test_a_class_is_planned_and_planned_again_around_a_coachs_words(
    open_page: Callable[..., Page], owner: Membership, coach: Membership
) -> None:
    gym = coach.gym
    library(gym, owner)
    make_low_bar(gym)
    athletes = [make_athlete(gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl", "Dev Eze")]
    for athlete in athletes[:3]:
        make_measured(athlete)
    reach(coach, athletes[0], "pullover-6")
    session = start_class(coach, *athletes, focus="pullover-6")
    page = open_page(TABLET, owner)
    _describe(page, "high bar", "high_bar", "1")
    _describe(page, "low bar", "low_bar", "2", bar="low bar by the door")
    _describe(page, "floor", "floor", "4")

    page.goto(reverse("session", args=[session.id]))
    page.get_by_role("button", name="Plan").tap()
    expect(page.get_by_text("4 people are here, 3 stations described")).to_be_visible()
    page.get_by_label("Length of the class").fill("5")
    page.get_by_role("button", name="Plan", exact=True).tap()
    expect(page.get_by_role("alert")).to_contain_text("No whole rotation fits into the class after the warm-up.")
    page.get_by_label("Length of the class").fill("46")
    page.get_by_role("button", name="Plan", exact=True).tap()
    expect(page.get_by_text("Planned.")).to_be_visible()
    expect(page.get_by_role("heading", name=re.compile("Rotation 3"))).to_be_visible()
    assert not _easy(page)

    _fix(page, "Bo Chen", 2, "Fix at high bar")
    expect(page.locator("#rotation-2").get_by_text("fixed")).to_be_visible()
    expect(page.get_by_text("2 Bo Chen is fixed at high bar in rotation 2.")).to_be_visible()
    _fix(page, "Cara Dahl", 2, "Fix at high bar")
    expect(page.get_by_role("heading", name="These cannot hold together")).to_be_visible()
    clash = page.get_by_role("alert")
    expect(clash).to_contain_text("2 Bo Chen is fixed at high bar in rotation 2.")
    expect(clash).to_contain_text("3 Cara Dahl is fixed at high bar in rotation 2.")
    assert not _easy(page)
    clash.get_by_role("listitem").filter(has_text="Bo Chen").get_by_role("button", name="Let it go").tap()
    expect(page.get_by_text("Planned again.")).to_be_visible()
    expect(page.get_by_text("3 Cara Dahl is fixed at high bar in rotation 2.")).to_be_visible()
    whole = whole_plan_of(session)
    assert whole
    names = {str(place.id): place.name for place in WorkPlace.objects.filter(gym=gym)}
    seated = {seat.person: names[seat.station] for seat in whole.seats(1)}
    assert seated[str(athletes[2].id)] == "high bar"

    page.locator("#rotation-2").get_by_role("link", name=re.compile("Cara Dahl")).tap()
    expect(page.get_by_role("heading", name="3 Cara Dahl, rotation 2")).to_be_visible()
    assert not _easy(page)
    page.get_by_role("button", name="No longer fixed").tap()
    expect(page.get_by_text("Planned again.")).to_be_visible()
    expect(page.get_by_role("heading", name="What you fixed")).not_to_be_visible()
