"""A class that goes on over midnight of the gym's time zone, on a tablet whose own clock is hours away from it."""

from datetime import datetime, time, timedelta

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import expect

from athletes.models import Athlete, Gym, Membership
from skills.models import Attempt
from tests.browser.floor.tablet import Opened, Tablet
from tests.factories.skills import library, start_class

pytestmark = pytest.mark.browser

BEFORE = timedelta(seconds=25)


def next_midnight(gym: Gym) -> datetime:
    tomorrow = timezone.now().astimezone(gym.zone).date() + timedelta(days=1)
    return datetime.combine(tomorrow, time.min, gym.zone)


def hold(tablet: Tablet, athlete: Athlete) -> None:
    """Clock a hold in real time: a touch that is dated by this machine's clock would be hours away."""
    tablet.tile(athlete).get_by_role("link").tap()
    expect(tablet.clock).to_contain_text("Start")
    tablet.page.wait_for_timeout(400)
    tablet.clock.tap()
    tablet.page.wait_for_timeout(1200)
    tablet.clock.tap()
    expect(tablet.logged).to_contain_text("Stored: 1.")


def test_a_class_goes_on_over_midnight_and_each_hold_has_its_own_day(
    tablet_of: Opened, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    gym = athlete.gym
    midnight = next_midnight(gym)
    library(gym, coach)
    with time_machine.travel(midnight - BEFORE, tick=True):
        session = start_class(coach, athlete, minor)
        tablet = tablet_of(coach)
        tablet.in_class(session)
        hold(tablet, athlete)
        while timezone.now() <= midnight:
            tablet.page.wait_for_timeout(500)
        hold(tablet, minor)
        hold(tablet, athlete)
        for _ in range(60):  # the athlete's first hold says "Stored: 1." before the second one is
            if Attempt.objects.count() == 3:
                break
            tablet.page.wait_for_timeout(250)
        expect(tablet.stand).to_have_text("Everything stored")
        tablet.go("#/")
        link = tablet.page.locator(".big-link", has_text=session.name)
        expect(link).to_contain_text("2 here")  # it runs, and so it is a class of today
        rows = [(row.athlete, row.happened_at) for row in Attempt.objects.order_by("happened_at")]
    assert [who for who, _ in rows] == [athlete, minor, athlete]
    days = [at.astimezone(gym.zone).date() for _, at in rows]
    assert days[1:] == [midnight.date()] * 2
    assert days[0] == midnight.date() - timedelta(days=1)
    assert all(abs(at - midnight) < timedelta(minutes=5) for _, at in rows)
    assert set(Attempt.objects.values_list("doubt", flat=True)) == {""}
