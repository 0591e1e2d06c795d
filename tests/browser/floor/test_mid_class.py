"""In the middle of a class: a hand-over runs out, the page is opened anew, a door leads elsewhere, a step is signed."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.http import HttpResponse, HttpResponseRedirect
from django.utils import timezone
from playwright.sync_api import Locator, Response, expect

from athletes.models import Athlete, HandOver, Membership
from athletes.services.coach_codes import set_code
from skills.api.floor_acts import FloorActs
from skills.models import Attempt, SignOff, TrainingSession
from tests.browser.devices import PHONE, TABLET, TABLET_LANDSCAPE, Device
from tests.browser.floor.tablet import Opened, Tablet
from tests.factories.athletes import PASSWORD
from tests.factories.skills import library, log, reach, start_class, step_of
from tests.helpers.floor import CODE

pytestmark = pytest.mark.browser

LostNetwork = Callable[[], bool]
OTHER_CODE = "918273"


def stored() -> list[int | None]:
    return [row.hold_tenths for row in Attempt.objects.filter(void=None).order_by("happened_at")]


def top_of(target: Locator) -> float:
    """Return where it begins on the whole page, in CSS pixels."""
    found: float = target.evaluate("(node) => node.getBoundingClientRect().top + scrollY")
    return found


def type_code(tablet: Tablet, coach: Membership, code: str = CODE) -> None:
    tablet.tap(tablet.page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    for digit in code:
        tablet.tap(tablet.page.locator(f"[data-digit='{digit}']"))
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text(coach.person.full_name)


# ---- Who holds the tablet ----------------------------------------------------------------------------------------


def test_a_hand_over_that_runs_out_asks_for_the_code_and_goes_on_in_the_same_place(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    run_out()
    tablet.context.set_offline(False)
    unsure = tablet.page.locator("[data-slot=unsure]")
    expect(unsure).to_have_text("not confirmed: type the code")
    tablet.hold(minor, 3.15)
    expect(tablet.logged).to_contain_text("Kept: 3.1 s")
    expect(tablet.stand).to_contain_text("2 waiting")
    before, place = tablet.waiting(), tablet.page.url
    assert [entry["body"]["hold_tenths"] for entry in before] == [22, 31]
    assert stored() == []
    tablet.tap(tablet.page.locator("[data-slot=who]"))
    expect(tablet.page.locator("[data-slot=notice]")).to_contain_text("what you log waits here")
    type_code(tablet, coach)
    expect(unsure).to_be_hidden()
    expect(tablet.stand).to_have_text("Everything stored")
    assert tablet.page.url == place
    expect(tablet.logged).to_contain_text("Stored: 3.1 s")
    assert {str(row.id) for row in Attempt.objects.all()} == {entry["id"] for entry in before}
    assert stored() == [22, 31]
    tablet.hold(athlete, 4.05)
    expect(tablet.logged).to_contain_text("Stored: 4 s")
    assert HandOver.objects.count() == 2  # a new one, and the old one has not come back
    assert lost_network()


@pytest.mark.parametrize("screen", [TABLET, TABLET_LANDSCAPE, PHONE], ids=["upright", "across", "phone"])
def test_a_hand_over_that_runs_out_and_a_network_that_goes_move_nothing(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    minor: Athlete,
    screen: Device,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach, device=screen)
    tablet.in_class(session)
    top = top_of(tablet.tile(minor))
    tablet.context.set_offline(True)
    mark(tablet, session, minor)
    expect(tablet.stand).to_contain_text("No network: as of")
    assert top_of(tablet.tile(minor)) == top
    run_out()
    tablet.context.set_offline(False)
    expect(tablet.page.locator("[data-slot=unsure]")).to_have_text("not confirmed: type the code")
    expect(tablet.stand).to_have_text("1 waiting")
    assert top_of(tablet.tile(minor)) == top
    assert lost_network()


def run_out() -> None:
    """Let every hand-over have ended a second ago, however lately it was made."""
    now = timezone.now()
    HandOver.objects.update(confirmed_at=now - timedelta(hours=1), until_at=now - timedelta(seconds=1))


def mark(tablet: Tablet, session: TrainingSession, athlete: Athlete) -> None:
    """Say that somebody went, or is here again."""
    tablet.go(f"#/class/{session.id}/roster")
    row = tablet.page.locator(f"[data-do=toggle-here][data-athlete='{athlete.id}']")
    was = row.get_attribute("aria-pressed")
    tablet.tap(row)
    expect(row).not_to_have_attribute("aria-pressed", str(was))
    tablet.go(f"#/class/{session.id}")


def test_whoever_takes_over_may_do_at_once_what_that_coach_may_do(
    *, tablet_of: Opened, session: TrainingSession, coach: Membership, coach_two: Membership, athlete: Athlete
) -> None:
    set_code(by=coach, code=OTHER_CODE)
    tablet = tablet_of(coach_two)
    tablet.in_class(session, f"/athlete/{athlete.id}")
    tablet.page.locator(".choices-box > summary").tap()
    expect(tablet.page.locator("[data-slot=open-steps] .row")).not_to_have_count(0)
    closed = tablet.page.locator("#closed-step")
    expect(closed).to_be_hidden()
    tablet.go("#/coach")
    type_code(tablet, coach, OTHER_CODE)
    expect(tablet.page.locator("#panel-title")).to_contain_text(str(athlete.number))
    tablet.page.locator(".choices-box > summary").tap()
    expect(closed).to_be_visible()


# ---- The page is opened anew, and nobody answers -----------------------------------------------------------------


def test_the_page_is_opened_anew_without_a_network_and_the_class_goes_on(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.page.evaluate("async () => void (await navigator.serviceWorker.ready)")
    tablet.hold(minor, 2.05)
    expect(tablet.logged).to_contain_text("Stored: 2 s")
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    first_at = tablet.at
    before, place = tablet.waiting(), tablet.page.url
    tablet.page.reload()
    expect(tablet.page.locator("#panel-title")).to_contain_text(str(athlete.number))
    assert tablet.page.url == place
    assert tablet.waiting() == before
    expect(tablet.logged).to_contain_text("Kept: 2.2 s")
    expect(tablet.tile(minor)).to_contain_text("Stored: 2 s")
    expect(tablet.stand).to_contain_text("1 waiting")
    tablet.hold(minor, 3.15)
    second_at = tablet.at
    expect(tablet.logged).to_contain_text("Kept: 3.1 s")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    rows = {row.hold_tenths: row.happened_at.timestamp() for row in Attempt.objects.all()}
    assert rows.keys() == {20, 22, 31}
    assert abs(rows[22] - first_at) < 2  # made in another life of the page than it was sent in
    assert abs(rows[31] - second_at) < 2
    assert lost_network()


def test_a_clock_that_ran_when_the_page_was_opened_anew_makes_no_result(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, lost_network: LostNetwork
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.page.evaluate("async () => void (await navigator.serviceWorker.ready)")
    tablet.context.set_offline(True)
    tablet.open(athlete)
    tablet.tap(tablet.clock)
    expect(tablet.clock).to_contain_text("Stop")
    tablet.page.reload()
    expect(tablet.clock).to_contain_text("Start")
    expect(tablet.clock).to_contain_text("0.0")
    lost = tablet.page.get_by_role("alert")
    expect(lost).to_contain_text(f"A clock was running for {athlete.number} when this page was opened anew")
    assert tablet.waiting() == []
    tablet.page.reload()
    expect(tablet.clock).to_contain_text("Start")
    expect(lost).to_be_hidden()  # it is said once
    tablet.tap("Clean")  # of a time that nobody took
    expect(tablet.page.get_by_role("alert")).to_contain_text("Take the time, tap a key, or type it first.")
    assert tablet.waiting() == []
    tablet.hold(athlete, 2.25)
    tablet.context.set_offline(False)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s")
    assert stored() == [22]
    assert lost_network()


FOLLOWS = """() => {
  const real = globalThis.fetch;
  globalThis.fetch = (address, how) => real(address, { ...how, redirect: "follow" });
}"""


@pytest.mark.parametrize("follows", [False, True])
def test_a_redirect_to_a_page_to_sign_in_acknowledges_nothing(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    monkeypatch: pytest.MonkeyPatch,
    follows: bool,
) -> None:
    """The server itself leads elsewhere; also where a browser would go there, and bring a page with status 200."""
    tablet = tablet_of(coach)
    if follows:
        tablet.page.add_init_script(f"({FOLLOWS})()")
    tablet.in_class(session)
    led_to: list[str] = []
    tablet.page.on("response", lambda answer: led_to.append(answer.url) if is_way_in(answer) else None)
    sent: list[str] = []

    def elsewhere(self: FloorActs, request: object, **more: object) -> HttpResponse:
        sent.append("acts")
        return HttpResponseRedirect("/account/sign-in/?next=/floor/")

    with monkeypatch.context() as patch:
        patch.setattr(FloorActs, "post", elsewhere)
        tablet.hold(athlete, 2.25)
        expect(tablet.stand).to_contain_text("1 waiting")
        for _ in range(100):
            if len(sent) > 1:
                break
            tablet.page.wait_for_timeout(100)
        assert len(sent) > 1  # asked again, for that was no answer
        expect(tablet.tile(athlete)).to_contain_text("Kept: 2.2 s")
        assert (stored(), len(tablet.waiting())) == ([], 1)
    assert bool(led_to) == follows
    expect(tablet.logged).to_contain_text("Stored: 2.2 s")
    assert (stored(), tablet.waiting()) == ([22], [])


def is_way_in(answer: Response) -> bool:
    return "/account/sign-in/" in answer.url and answer.status == 200


# ---- To the sign-off and back ------------------------------------------------------------------------------------


def test_a_hold_makes_somebody_ready_and_the_decision_leads_back_to_the_same_place(
    tablet_of: Opened, coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    code = "handstand-2"
    library(athlete.gym, coach)
    reach(coach, athlete, code)
    for _ in range(2):
        log(coach, athlete, code, 5.2, days_ago=1)
    session = start_class(coach, athlete, minor, focus=code)
    tablet = tablet_of(coach)
    tablet.in_class(session)
    expect(tablet.tile(athlete).locator("[data-slot=ready]")).to_be_hidden()
    below = top_of(tablet.tile(minor))
    tablet.open(athlete)
    tablet.tap(tablet.clock)
    tablet.page.wait_for_timeout(5100)  # in real time: what has yet to come counts for nobody
    tablet.tap(tablet.clock)
    expect(tablet.logged).to_contain_text("Stored: 5.")
    expect(tablet.tile(athlete)).to_contain_text("Ready for sign-off")
    assert top_of(tablet.tile(minor)) == pytest.approx(below, abs=0.5)
    expect(tablet.says.locator("[data-slot=news]")).to_contain_text("Waits for a coach's word")
    step = step_of(athlete.gym, code)
    link = tablet.page.locator(f"[data-slot=gates] a[href*='{step.id}']")
    expect(link).to_be_visible()
    place = tablet.page.url
    link.tap()
    page = tablet.page
    page.get_by_label("E-mail address").fill(coach.account.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).tap()
    page.get_by_text("Has it", exact=True).tap()
    page.get_by_text("spotted: hands on").tap()
    page.wait_for_timeout(400)
    page.get_by_role("button", name="Record the decision").tap()
    page.wait_for_url(place)
    expect(page.locator("#panel-title")).to_contain_text(str(athlete.number))
    row = SignOff.objects.get(step=step, gate="finish")
    assert (row.signed_by, row.athlete, row.decision) == (coach, athlete, "passed")
    expect(link).to_have_count(0)
    expect(tablet.tile(athlete)).not_to_contain_text("Ready for sign-off")
    expect(tablet.tile(athlete)).to_contain_text("passed")
    assert tablet.waiting() == []
