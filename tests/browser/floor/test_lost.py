"""Whatever goes wrong between a tablet and the server: each result is stored once, with its right time, or is kept."""

import re
import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Request, Route, expect

from athletes.models import Athlete, Membership
from athletes.services.staff import change_rights
from skills.models import Attempt, FloorAct, TrainingSession
from tests.browser.floor.tablet import Opened, Tablet
from tests.plugins import measured

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


def test_a_page_that_is_killed_between_two_sends_leaves_both_results_to_the_next_one(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    held_up: list[Route] = []
    tablet.page.route(ACTS, lambda route: held_up.append(route))  # noqa: PLW0108 (it is marked)
    tablet.hold(athlete, 2.25)
    tablet.hold(minor, 3.25)
    expect(tablet.stand).to_contain_text("2 waiting")
    tablet.page.close()
    again = Tablet(tablet.context.new_page())
    again.in_class(session)
    expect(again.stand).to_have_text("Everything stored")
    assert sorted(str(each) for each in stored()) == ["22", "32"]


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


def test_a_sign_in_page_for_an_answer_acknowledges_nothing(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, lost_network: LostNetwork
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    sent: list[str] = []

    def elsewhere(route: Route) -> None:
        sent.append(route.request.url)
        route.fulfill(status=200, content_type="text/html", body="<title>Sign in</title>")

    tablet.page.route(ACTS, elsewhere, times=1)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s")
    assert (len(sent), stored()) == (1, [22])
    assert lost_network()


def test_a_clock_that_is_three_hours_off_tells_the_right_time_and_length(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    off = """() => { const Real = Date; const late = 3 * 3600 * 1000;
      globalThis.Date = class extends Real {
        constructor(...given) { given.length ? super(...given) : super(Real.now() - late); }
        static now() { return Real.now() - late; }
      }; }"""
    tablet.page.add_init_script(f"({off})()")
    tablet.in_class(session)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s, clean")
    row = Attempt.objects.get()
    assert (row.hold_tenths, abs(timezone.now() - row.happened_at) < timedelta(minutes=2)) == (22, True)
    act = FloorAct.objects.get()
    assert round(act.offset_ms / 1000 / 3600) == 3
    assert timezone.now() - act.device_at > timedelta(hours=2)


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


def test_two_tablets_see_each_others_results_and_agree(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    coach_two: Membership,
    athlete: Athlete,
    minor: Athlete,
    record_property: Callable[[str, object], None],
    lost_network: LostNetwork,
) -> None:
    one, other = tablet_of(coach), tablet_of(coach_two, name="ring side")
    for each in (one, other):
        each.in_class(session)
    took = []
    for tenths in (22, 31, 40):
        one.hold(athlete, tenths / 10 + 0.05)
        began = time.monotonic()
        expect(other.tile(athlete)).to_contain_text(f"{tenths / 10:g} s")
        took.append(round((time.monotonic() - began) * 1000))
    record_property(measured.KEY, ["until another tablet shows a result, the longest of three", max(took)])
    for each in (one, other):
        each.context.set_offline(True)
    one.hold(athlete, 2.35)
    other.hold(minor, 2.45)
    for each in (one, other):
        each.context.set_offline(False)
    for each in (one, other):
        expect(each.tile(athlete)).to_contain_text("Stored: 2.3 s")
        expect(each.tile(minor)).to_contain_text("Stored: 2.4 s")
        expect(each.stand).to_have_text("Everything stored")
    assert sorted(str(each) for each in stored()) == ["22", "23", "24", "31", "40"]
    assert lost_network()


def test_the_answer_to_a_result_is_ten_kilobytes_at_most(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    expect(tablet.tile(athlete)).to_be_visible()
    sizes: list[int] = []

    def weigh(request: Request) -> None:
        if ACTS.search(request.url):
            found = request.sizes()
            sizes.append(found["responseBodySize"] + found["responseHeadersSize"])

    tablet.page.on("requestfinished", weigh)
    tablet.hold(athlete, 2.25)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s")
    tablet.page.wait_for_timeout(100)
    assert len(sizes) == 1
    assert sizes[0] <= 10_000
