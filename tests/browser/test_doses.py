"""On a phone: a coach changes a dose, the athlete reads it and enters own practice, and takes it back."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership
from skills.models import Attempt, DoseChange
from tests.browser import inspection
from tests.browser.devices import PHONE
from tests.factories.skills import library, log

pytestmark = pytest.mark.browser


def test_a_coach_changes_the_dose_and_the_athlete_reads_it_and_enters_own_practice(
    open_page: Callable[..., Page], coach: Membership, athlete: Athlete, athlete_member: Membership
) -> None:
    library(athlete.gym, coach)
    log(coach, athlete, "pullover-1", 13.4, days_ago=1)

    page = open_page(PHONE, coach)
    page.goto(f"/athletes/{athlete.id}/")
    page.get_by_role("link", name="This week’s practice").tap()
    first = page.get_by_role("listitem").filter(has_text="1 Tucked hold in a long-arm hang").first
    expect(first).to_contain_text("3 sets of 3 holds of 5 s")
    first.get_by_text(re.compile("^Why so")).tap()
    expect(first).to_contain_text("5 s is enough: the step asks for 5 s.")
    first.get_by_text(re.compile("^Where from")).tap()
    expect(first).to_contain_text("13.4 s")
    assert inspection.too_wide(page) == []

    first.get_by_role("link", name=re.compile("^Change it")).tap()
    page.get_by_label("Holds in a set").fill("1")
    page.get_by_text("10 s", exact=True).tap()
    page.get_by_role("button", name="Set it for this week").tap()
    expect(page.get_by_role("alert")).to_contain_text("Say why, in a few words.")
    expect(page.get_by_label("Holds in a set")).to_have_value("1")
    page.get_by_label("Reason").fill("Ready for longer ones.")
    page.get_by_role("button", name="Set it for this week").tap()
    expect(first).to_contain_text("Changed by Cleo Adeyemi for this week: Ready for longer ones.")
    assert DoseChange.objects.get().hold_seconds == 10

    hers = open_page(PHONE, athlete_member)
    hers.goto(f"/progress/{athlete.id}/practice/")
    expect(hers.get_by_text("Changed by Cleo Adeyemi for this week")).to_be_visible()
    expect(hers.locator("strong", has_text="3 holds of 10 s")).to_be_visible()
    assert inspection.too_wide(hers) == []
    hers.get_by_role("link", name=re.compile("^1 Tucked hold")).first.tap()
    hers.get_by_label("Holds", exact=True).fill("3")
    hers.get_by_label("Seconds of each").fill("10,4")
    hers.get_by_role("button", name="Enter it").tap()
    entered = hers.get_by_role("region", name="Entered in the last 14 days")
    expect(entered).to_contain_text("3 × 10.4 s, 1 Tucked hold in a long-arm hang own entry by Ada Lindqvist")
    attempt = Attempt.objects.get(source="own")
    assert (attempt.hold_tenths, attempt.reps, attempt.logged_by) == (104, 3, athlete_member)
    assert inspection.too_wide(hers) == []

    page.reload()
    expect(hers.get_by_text(re.compile("^This week in all"))).to_contain_text("hang time")
    page.get_by_text(re.compile("^Where from.*Hang time this week")).tap()
    expect(page.get_by_text("Written down this week so far")).to_be_visible()
    entered.get_by_role("button", name=re.compile("^Take it back")).tap()
    expect(entered).to_contain_text("taken back")
