"""Every screen of the floor board, in each state that matters, can be used by everybody: axe in light and in dark, size
of what is touched, room, words at arm's length, and no state told by colour alone.
"""

import re
from collections.abc import Callable, Iterator
from typing import Final, Literal

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, Route, expect

from athletes.models import Athlete, Membership
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from skills.models import TrainingSession
from skills.services.cautions import enter_caution
from skills.services.sessions import choose_step, mark_present
from tests.browser import inspection
from tests.browser.devices import PHONE, TABLET, Device
from tests.browser.floor.tablet import Opened, Tablet
from tests.browser.watch import Watch
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, log, meet, reach, start_class, step_of

pytestmark = pytest.mark.browser

ACROSS: Final[Device] = {**TABLET, "viewport": {"width": 1280, "height": 800}}
SCHEMES: tuple[Literal["dark", "light"], ...] = ("dark", "light")
CODE = "402917"
LONG_NAME = "Wilhelmina Vandenbroucke-Castellanos"
LostNetwork = Callable[[], bool]

HEAD_TARGETS = """(least) => [...document.querySelectorAll(".floor-head :is(a, button)")]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent.trim(), node.getBoundingClientRect()])
  .filter(([, box]) => box.width < least - 0.5 || box.height < least - 0.5)
  .map(([words, box]) => `${words} is ${box.width} × ${box.height} px`)"""
CUT = """() => [...document.querySelectorAll(".tile :is(.tile-name, .tile-step, .tile-missing, .state)")]
  .filter((node) => node.scrollWidth > node.clientWidth + 1 && getComputedStyle(node).display !== "inline"
    || node.scrollHeight > node.clientHeight + 1 && getComputedStyle(node).overflowY !== "visible"
    || node.getBoundingClientRect().right > node.closest("a").getBoundingClientRect().right)
  .map((node) => `${node.className} “${node.textContent}”`)"""
PLACES = "() => [...document.querySelectorAll('.tile')].map((tile) => tile.offsetTop)"
WORDLESS = """() => [...document.querySelectorAll(".state, [aria-pressed=true], [aria-current=true]")]
  .filter((node) => node.checkVisibility() && !node.textContent.trim()).map((node) => node.outerHTML)"""


@pytest.fixture
def session(coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    """Ada and Mia, by initials, are working; one is ready for a sign-off; one is paused by a caution."""
    library(athlete.gym, coach)
    log(coach, athlete, "pullover-1", 4.1, days_ago=3, assistance="band", faults=("shoulders-close",))
    ready, hurt = make_athlete(athlete.gym, "Ria Solberg"), make_athlete(athlete.gym, LONG_NAME)
    reach(coach, ready, "pullover-3a")
    meet(coach, ready, "pullover-3a")
    enter_caution(
        by=coach,
        athlete=hurt,
        loads=frozenset({"hanging"}),
        from_at=timezone.now(),
        until_at=None,
        reason="a sore hand",
    )
    return start_class(coach, athlete, minor, ready, hurt)


def judged(page: Page, name: str, *devices: Device) -> Iterator[str]:
    """Everything that is wrong with what is shown, in both schemes and held each way."""
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        yield from (f"{name}, {scheme}: {each}" for each in inspection.axe_findings(page))
    for device in devices or (PHONE, ACROSS, TABLET):
        page.set_viewport_size(device["viewport"])
        where = f"{name}, {device['viewport']['width']} px"
        yield from (f"{where}: {each}" for each in ill_sized(page))
    yield from (f"{name}: without a word: {each}" for each in page.evaluate(WORDLESS))


def ill_sized(page: Page) -> list[str]:
    head: list[str] = page.evaluate(HEAD_TARGETS, inspection.BOARD_TOUCH_PX)
    names, missing = ".tile :is(.tile-name, .tile-number)", ":is(.tile, .group-person) .tile-missing"
    return [
        *head,
        *inspection.small_targets(page, inspection.BOARD_TOUCH_PX),
        *inspection.too_wide(page),
        *inspection.small_words(page, f"{names}, .group-person .tile-name, .result .row-name", 22),
        *inspection.small_words(page, missing, 18),
    ]


def titled(page: Page, words: str) -> None:
    expect(page.get_by_role("heading", name=words, exact=True)).to_be_visible()


# ---- Letting in, handing over, classes ---------------------------------------------------------------------------


def test_letting_in_and_handing_over(
    open_page: Callable[..., Page], owner: Membership, coach: Membership, session: TrainingSession, watch: Watch
) -> None:
    watch.expected |= {403, 404}  # wrong codes
    set_code(by=coach, code=CODE)
    page = open_page(TABLET)
    tablet = Tablet(page)
    page.goto("/floor/")
    titled(page, "Let this tablet onto the floor")
    found = [*judged(page, "not let in")]
    tablet.tap("Let it in")
    expect(page.locator("#enrol-mistake")).to_be_visible()
    found += judged(page, "not let in, a mistake")
    page.get_by_label("Code, such as").fill(add_tablet(by=owner, name="ring side").code)
    tablet.tap("Let it in")
    titled(page, "Who holds this tablet?")
    expect(page.locator("[data-do=choose-coach]")).not_to_have_count(0)
    found += judged(page, "coaches")
    tablet.tap(page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    found += judged(page, "code pad")
    tablet.tap("That is the code")
    expect(page.locator("#pad-mistake")).to_be_visible()
    found += judged(page, "code pad, a mistake")
    for digit in CODE:
        tablet.tap(page.locator(f"[data-digit='{digit}']"))
    titled(page, "Classes today")
    expect(page.locator(".big-link")).to_contain_text(session.name)
    found += judged(page, "classes")
    assert not found, "\n".join(found)


# ---- Board and panel ---------------------------------------------------------------------------------------------


def refuse(route: Route) -> None:
    acts = (route.request.post_data_json or {})["acts"]
    said = {"status": "refused", "code": "mistakes", "reason": "A hold lasts at most an hour.", "mistakes": []}
    receipts = [{"id": act["id"], **said} for act in acts]
    route.fulfill(
        json={"at": timezone.now().isoformat(), "receipts": receipts, "tiles": [], "log": [], "stamp": "other"}
    )


def test_the_board_with_all_that_a_tile_can_say(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, "/roster")
    tiles = tablet.page.locator(".tile")
    for words in ("M. O.", "Ready for sign-off", "Caution: no hanging", "working"):
        expect(tiles.filter(has_text=words)).not_to_have_count(0)
    found = [*judged(tablet.page, "board")]
    tablet.page.route("**/api/v1/floor/acts/", refuse, times=1)
    tablet.hold(athlete, 5.25)
    expect(tablet.tile(athlete)).to_contain_text("Refused: A hold lasts at most an hour.")
    found += judged(tablet.page, "board, refused")
    tablet.context.set_offline(True)
    tablet.hold(minor, 3.25)
    expect(tablet.tile(minor)).to_contain_text("1 waiting")
    tablet.tap(tablet.clock)
    expect(tablet.tile(minor)).to_contain_text("▶")
    found += judged(tablet.page, "board, waiting and running")
    assert not found, "\n".join(found)
    tablet.page.close()
    assert lost_network()


def test_the_roster_with_a_guest(tablet_of: Opened, session: TrainingSession, coach: Membership) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, "/roster")
    tablet.page.get_by_text("A guest", exact=True).tap()
    found = [*judged(tablet.page, "roster, a guest")]
    tablet.tap("Add the guest")
    expect(tablet.page.locator("[data-slot=guest-error]")).to_have_text("Type the guest's name.")
    found += judged(tablet.page, "roster, a mistake")
    assert not found, "\n".join(found)


def begin_closed(tablet: Tablet, athlete: Athlete, code: str) -> None:
    tablet.page.get_by_text("Another step", exact=True).tap()
    tablet.page.locator("#closed-step").select_option(str(step_of(athlete.gym, code).id))
    tablet.tap(tablet.page.locator("[data-do=closed-step]"))


def test_the_panel_from_the_clock_to_the_undo(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    page = tablet.page
    tablet.in_class(session, f"/athlete/{athlete.id}")
    found = [*judged(page, "panel")]
    tablet.tap(tablet.clock)
    expect(tablet.clock).to_contain_text("Stop")
    found += judged(page, "panel, running")
    tablet.tap(tablet.button("Shoulders close"))
    expect(tablet.logged).to_contain_text("Stored:")
    found += judged(page, "panel, stopped by a fault")
    page.locator(".undo summary").tap()
    found += judged(page, "panel, undo")
    page.locator(".undo summary").tap()
    page.get_by_text("More: it hurt").tap()
    expect(page.get_by_text("It hurt: what next?")).to_be_visible()
    found += judged(page, "panel, more")
    assert not found, "\n".join(found)


def test_the_panel_for_other_steps_and_pain(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    page = tablet.page
    tablet.in_class(session, f"/athlete/{athlete.id}")
    page.get_by_text("Another step", exact=True).tap()
    found = [*judged(page, "panel, another step")]
    page.get_by_text("Another step", exact=True).tap()
    begin_closed(tablet, athlete, "pullover-4")
    expect(page.get_by_label("Why this step is tried before it is open")).to_be_visible()
    expect(page.locator("[data-do=rep]")).to_be_visible()
    found += judged(page, "panel, a closed step in reps")
    begin_closed(tablet, athlete, "pullover-6")
    titled(page, "Look the low bar over first")
    found += judged(page, "panel, low bar")
    page.reload()  # what was begun is let go
    tablet.hold(athlete, 4.25)
    expect(tablet.logged).to_contain_text("Stored:")
    page.get_by_text("More: it hurt").tap()
    tablet.tap("Rest, then something else")
    expect(page.locator("[data-slot=paused]")).to_be_visible()
    found += judged(page, "panel, paused")
    assert not found, "\n".join(found)


# ---- Beside the board --------------------------------------------------------------------------------------------


def test_the_group_clock_from_the_choice_to_its_results(
    tablet_of: Opened, session: TrainingSession, coach: Membership
) -> None:
    tablet = tablet_of(coach)
    page = tablet.page
    tablet.in_class(session)
    tablet.go(f"#/class/{session.id}/group")
    expect(page.locator(".group-person")).to_have_count(4)
    found = [*judged(page, "group")]
    tablet.tap("Everybody")
    page.get_by_label("or seconds").fill("600")
    found += judged(page, "group, set up")
    tablet.tap(page.locator("[data-do=group-start]"))
    expect(page.get_by_text("get hold of the bar")).to_be_visible()
    found += [f"group, count-in: {each}" for each in inspection.axe_findings(page)]
    expect(page.get_by_text("of 600 s")).to_be_visible()
    found += judged(page, "group, running")
    tablet.tap(page.locator(".group-person:not(:disabled)").first)
    expect(page.locator("[data-down]")).to_contain_text("down at")
    found += judged(page, "group, one is down")
    tablet.tap("Everybody down: end it now")
    expect(page.locator(".result")).not_to_have_count(0)
    found += judged(page, "group, results")
    assert not found, "\n".join(found)


def test_catching_up_and_the_end(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    page = tablet.page
    tablet.in_class(session)
    tablet.go(f"#/class/{session.id}/catch-up")
    row = page.locator(f"[data-do=choose-who][data-athlete='{athlete.id}']")
    expect(row).to_be_visible()
    found = [*judged(page, "catch up")]
    tablet.tap(row)
    clock = page.locator("[data-do=partner-clock]")
    found += judged(page, "catch up, one")
    tablet.tap(clock)
    expect(clock).to_contain_text("Stop")
    found += judged(page, "catch up, a partner's clock")
    tablet.tap(clock)
    expect(page.locator(".result")).to_contain_text("timed only")
    found += judged(page, "catch up, timed only")
    tablet.go(f"#/class/{session.id}/end")
    titled(page, f"End {session.name}?")
    found += judged(page, "end")
    assert not found, "\n".join(found)


def test_what_waits_and_leaving(
    tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    page = tablet.page
    tablet.in_class(session)
    page.route("**/api/v1/floor/acts/", refuse)
    tablet.hold(athlete, 5.25)
    expect(tablet.stand).to_have_text("1 refused")
    tablet.go("#/waiting")
    titled(page, "What waits on this tablet")
    found = [*judged(page, "waiting, refused")]
    tablet.tap("Put right or take back")
    expect(page.get_by_label("Why it is taken back")).to_be_visible()
    found += judged(page, "waiting, putting right")
    tablet.tap("Show as text")
    expect(page.locator("#export-text")).to_be_visible()
    found += judged(page, "waiting, as text")
    tablet.go("#/leave")
    titled(page, "Sign out of this tablet")
    found += judged(page, "leaving")
    assert not found, "\n".join(found)


# ---- Twelve tiles ------------------------------------------------------------------------------------------------

SURNAMES = "Abbott Brandt Castellanos Dubois Eriksson Featherstonehaugh Georgiadis Hallgrimsdottir"


@pytest.fixture
def twelve(session: TrainingSession, coach: Membership, athlete: Athlete) -> list[Athlete]:
    """Eight more with long names; some are at a step with a long name, and have to show one again."""
    more = [make_athlete(athlete.gym, f"Maximiliana {surname}") for surname in SURNAMES.split()]
    here = [mark_present(by=coach, session=session, athlete=each) for each in more]
    for attendance, each in zip(here[:2], more, strict=False):
        reach(coach, each, "pullover-3a")
        choose_step(by=coach, attendance=attendance, step=step_of(athlete.gym, "pullover-3a"))
    meet(coach, more[2], "pullover-1", days_ago=80)
    return [athlete, *more]


@pytest.mark.parametrize("turned", [TABLET, ACROSS], ids=["upright", "across"])
def test_twelve_tiles_are_read_whole_and_stay_where_they_are(
    tablet_of: Opened, session: TrainingSession, coach: Membership, twelve: list[Athlete], turned: Device
) -> None:
    tablet = tablet_of(coach, device=turned)
    page = tablet.page
    tablet.in_class(session)
    expect(page.locator(".tile")).to_have_count(12)
    expect(page.locator(".tile-missing").filter(has_text="to show it again")).not_to_have_count(0)
    expect(page.locator(".tile-step").filter(has_text="Tucked inverted hang with the floor in reach")).to_have_count(2)
    assert not page.locator("#tiles").get_by_text("due since").count()
    assert page.evaluate(CUT) == []
    stood = page.evaluate(PLACES)
    for each, stop in ((twelve[0], "Shoulders close"), (twelve[3], ""), (twelve[4], "Shoulders close")):
        tablet.hold(each, 5.25, stop=stop)
        expect(tablet.tile(each)).to_contain_text(re.compile("Stored: 5.2 s"))
        assert page.evaluate(PLACES) == stood
    assert page.evaluate(CUT) == []


@pytest.mark.parametrize("turned", [TABLET, ACROSS], ids=["upright", "across"])
def test_clocks_are_in_sight_whatever_is_unfolded_above_them(
    tablet_of: Opened, session: TrainingSession, coach: Membership, twelve: list[Athlete], turned: Device
) -> None:
    tablet = tablet_of(coach, device=turned)
    page = tablet.page
    tablet.in_class(session)
    tablet.open(twelve[1])
    expect(page.locator("[data-slot=cautions]")).to_have_attribute("open", "")
    expect(tablet.clock).to_be_in_viewport(ratio=1)
    tablet.go(f"#/class/{session.id}/group")
    tablet.tap("Everybody")
    start = page.locator("[data-do=group-start]")
    expect(start).to_be_in_viewport(ratio=1)
    page.get_by_label("or seconds").fill("2")
    tablet.tap(start)
    time = page.locator("[data-slot=time]")
    expect(time).to_be_in_viewport(ratio=1)
    page.locator(".group-person").last.scroll_into_view_if_needed()
    expect(time).to_be_in_viewport(ratio=1)
    expect(page.locator(".result").first).to_be_in_viewport()


def test_a_second_touch_within_three_tenths_does_nothing(
    tablet_of: Opened, session: TrainingSession, coach: Membership
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session, "/roster")
    here = tablet.page.locator("[data-do=toggle-here]").first
    _twice(tablet, here, "aria-pressed", "false")
    tablet.go(f"#/class/{session.id}/group")
    one = tablet.page.locator(".group-person:not(:disabled)").first
    _twice(tablet, one, "aria-pressed", "true")


def _twice(tablet: Tablet, target: Locator, attribute: str, after: str) -> None:
    """Touch it, and again after 0.25 s: it is as after one touch."""
    tablet.tap(target)
    expect(target).to_have_attribute(attribute, after)
    tablet.touch(target, tablet.at + 0.25)
    tablet.page.wait_for_timeout(100)
    expect(target).to_have_attribute(attribute, after)
