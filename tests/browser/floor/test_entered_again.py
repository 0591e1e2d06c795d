"""A try of a coach whose code never came: who holds the tablet now enters it in their own name, and it says so."""

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete, Membership, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.hand_overs import leave
from skills.models import Attempt, TrainingSession
from skills.queries.evidence import remarks_by_commitment
from tests.browser.floor.tablet import Opened

pytestmark = pytest.mark.browser

CODE = "918273"


def test_who_holds_the_tablet_enters_again_what_waits_for_a_code_that_never_comes(
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    owner: Membership,
    athlete: Athlete,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    leave(tablet=Tablet.objects.get())
    tablet.hold(athlete, 3.25)
    expect(tablet.logged).to_contain_text("Kept: 3.2 s")
    set_code(by=owner, code=CODE)
    tablet.go("#/coach")
    tablet.page.reload()
    tablet.tap(tablet.page.locator(f"[data-do=choose-coach][data-coach='{owner.id}']"))
    tablet.page.get_by_label("Six digits").fill(CODE)
    expect(tablet.page.locator("[data-slot=holder]")).to_contain_text(owner.board_name(owner.gym))
    tablet.go("#/waiting")
    row = tablet.page.locator(".waiting-entry")
    expect(row).to_contain_text("Waits for the code of")
    tablet.tap("Put right or take back")
    expect(tablet.button("Enter it in my name")).to_be_visible()
    expect(row).to_contain_text("held it unconfirmed.”")
    tablet.tap("Enter it in my name")
    expect(tablet.page.get_by_text("Everything is stored")).to_be_visible()
    stored = Attempt.objects.get()
    (note,) = remarks_by_commitment(athlete.gym, [stored.id]).values()
    assert (stored.hold_tenths, stored.logged_by) == (32, owner)
    assert note.startswith(f"Entered again by {owner.board_name(owner.gym)}; logged on the tablet while ")
