"""A consent that is withdrawn in the middle of a class stops the tablet, and without a network it stays stopped."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete, Gym, Membership
from athletes.services.consents import record_consent
from skills.models import Attendance
from skills.services.sessions import choose_step
from tests.browser.floor.tablet import Opened
from tests.factories.athletes import make_consent
from tests.factories.skills import library, reach, start_class, step_of

pytestmark = pytest.mark.browser


def test_a_withdrawal_stops_the_step_on_the_tablet_and_it_stays_so_without_a_network(
    tablet_of: Opened, lost_network: Callable[[], bool], coach: Membership, athlete: Athlete
) -> None:
    library(athlete.gym, coach)
    reach(coach, athlete, "pullover-3a")
    Gym.objects.filter(pk=coach.gym_id).update(asks_consent=True)
    for kind in ("spotting", "inversion"):
        make_consent(athlete, by=coach, kind=kind)
    make_consent(athlete, by=coach, kind="board", extent="number")
    session = start_class(coach, athlete)
    choose_step(by=coach, attendance=Attendance.objects.get(), step=step_of(athlete.gym, "pullover-3a"))
    tablet = tablet_of(coach)
    tablet.in_class(session)
    expect(tablet.tile(athlete)).not_to_contain_text("Ada")
    tablet.open(athlete)
    form, stopped = tablet.page.locator(".panel form"), tablet.page.locator("[data-slot=stopped]")
    expect(form).to_be_visible()
    expect(stopped).to_be_hidden()
    expect(tablet.page.get_by_role("heading", name=f"Athlete {athlete.number}")).to_be_visible()

    record_consent(by=coach, athlete=athlete, kind="inversion", given=False)
    expect(stopped).to_be_visible(timeout=15_000)
    expect(form).to_be_hidden()
    expect(tablet.tile(athlete)).to_contain_text("no consent to going upside down (withdrawn)")

    tablet.page.context.set_offline(True)
    tablet.page.reload()
    expect(stopped).to_be_visible(timeout=15_000)
    expect(form).to_be_hidden()
    tablet.page.context.set_offline(False)
    assert lost_network()
