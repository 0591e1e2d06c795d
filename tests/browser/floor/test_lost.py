"""Whatever goes wrong between a tablet and the server: each result is stored once, or is kept."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Route, expect

from athletes.models import Athlete, Membership
from athletes.services.staff import change_rights
from skills.models import Attempt, FloorAct, TrainingSession
from tests.browser.floor.tablet import Opened, Tablet

pytestmark = pytest.mark.browser

ACTS = re.compile(r"/api/v1/floor/acts/$")
LostNetwork = Callable[[], bool]


def stored() -> list[int | None]:
    return [row.hold_tenths for row in Attempt.objects.filter(void=None).order_by("happened_at")]


def lose_the_answer(route: Route) -> None:
    """The server commits, and its answer never comes."""
    route.fetch()
    route.abort()


def test_an_answer_that_is_lost_after_the_commit_makes_no_second_row(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, lost_network: LostNetwork
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.page.route(ACTS, lose_the_answer, times=2)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s")
    assert stored() == [22]
    assert FloorAct.objects.count() == 1
    assert lost_network()


def test_two_tabs_of_one_tablet_make_one_row_of_each_result(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, lost_network: LostNetwork
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    other = Tablet(tablet.context.new_page())
    other.in_class(session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    expect(other.stand).to_contain_text("1 waiting")
    tablet.context.set_offline(False)
    for each in (tablet, other):
        expect(each.stand).to_have_text("Everything stored")
    assert stored() == [22]
    assert lost_network()


def test_a_right_that_was_taken_away_keeps_the_result_with_the_reason(
    tablet_of: Opened, session: TrainingSession, owner: Membership, coach_two: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach_two)
    tablet.in_class(session)
    expect(tablet.tile(athlete)).to_be_visible()
    change_rights(by=owner, coach=coach_two, rights=frozenset())
    tablet.hold(athlete, 2.25)
    expect(tablet.stand).to_contain_text(re.compile("1 (waiting|refused)"))
    (entry,) = tablet.waiting()
    assert entry["body"]["hold_tenths"] == 22
    assert stored() == []
