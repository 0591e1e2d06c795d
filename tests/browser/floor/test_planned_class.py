"""A class is planned, shown on the wall, run on a tablet by its plan, and planned again after somebody has left."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership
from skills.models import RotationMark, TrainingSession
from skills.queries.kept_plans import whole_plan_of
from tests.browser import inspection
from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.floor.tablet import Opened, Tablet
from tests.browser.watch import Watch
from tests.factories.athletes import make_athlete
from tests.factories.class_plans import make_hall, make_measured
from tests.factories.class_runs import Turns, keep_plan
from tests.factories.skills import library, page_of, start_class

pytestmark = pytest.mark.browser


def _plan(desk: Page, session: TrainingSession, *, again: bool = False) -> None:
    desk.goto(reverse("session", args=[session.id]))
    desk.get_by_role("button", name="Plan", exact=True).tap()
    expect(desk.get_by_role("heading", name="Plan", exact=True)).to_be_visible()
    if again:
        expect(desk.locator("details.plan-more")).to_have_attribute("open", "")  # somebody has left: it is offered
        desk.get_by_role("button", name="Plan again").tap()
        expect(desk.get_by_text("Planned again.")).to_be_visible()
    else:
        desk.get_by_label("Length of the class").fill("46")
        desk.get_by_role("button", name="Plan", exact=True).tap()
        expect(desk.get_by_text("Planned.")).to_be_visible()


def _places(session: TrainingSession, rotation: int) -> dict[str, str]:
    """Which step the plan has for everybody in a rotation, by the athlete's key."""
    whole = whole_plan_of(session)
    assert whole
    ask = whole.of(rotation).ask
    return {seat.person: ask.choice(seat).step for seat in whole.seats(rotation)}


def _is_run_by_its_plan(tablet: Tablet, session: TrainingSession, rotation: int, athletes: list[Athlete]) -> None:
    """The tile of each says where they are, and has the rotation's step in hand."""
    places = _places(session, rotation)
    for athlete in athletes:
        tile = tablet.tile(athlete)
        expect(tile.locator("[data-slot=turn]")).to_contain_text("Now: ")
        if str(athlete.id) in places:
            page = page_of(athlete.gym, places[str(athlete.id)])
            expect(tile.locator("[data-slot=step]")).to_have_text(f"{page.label} {page.name}")


def test_a_class_is_planned_shown_run_and_planned_again(
    open_page: Callable[..., Page], tablet_of: Opened, coach: Membership, watch: Watch
) -> None:
    library(coach.gym)
    make_hall(coach.gym)
    athletes = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl", "Dev Eze")]
    for athlete in athletes:
        make_measured(athlete)
    session = start_class(coach, *athletes)
    desk = open_page(TABLET, coach)
    _plan(desk, session)

    wall = open_page(LAPTOP, coach)
    wall.goto(reverse("class_wall", args=[session.id]))
    expect(wall.get_by_role("heading", name="Warm-up")).to_be_visible()
    for athlete in athletes:
        expect(wall.get_by_text(athlete.person.full_name).locator("visible=true")).to_be_visible()

    tablet = tablet_of(coach)
    tablet.in_class(session)
    expect(tablet.page.get_by_text("Warm-up")).to_be_visible()
    tablet.tap("Start rotation 1")
    expect(tablet.page.get_by_text("Rotation 1 of 3")).to_be_visible()
    expect(wall.get_by_role("heading", name="Rotation 1 of 3")).to_be_visible()
    _is_run_by_its_plan(tablet, session, 0, athletes)
    tablet.open(athletes[1])  # a tile opens that athlete's clock, at the rotation's step
    expect(tablet.clock).to_be_visible()

    leaver, stayers = athletes[3], athletes[:3]
    desk.goto(reverse("session", args=[session.id]))
    desk.get_by_role("button", name=re.compile("Dev Eze")).tap()
    expect(desk.locator(f"#tile-{leaver.id}")).to_have_count(0)
    _plan(desk, session, again=True)
    whole = whole_plan_of(session)
    assert whole
    assert (whole.last.row.number, whole.last.row.first_rotation) == (2, 1)
    assert str(leaver.id) not in whole.last.ask.person

    expect(wall.get_by_text("Dev Eze")).to_have_count(0)
    tablet.tap("On to rotation 2")
    expect(wall.get_by_role("heading", name="Rotation 2 of 3")).to_be_visible()
    _is_run_by_its_plan(tablet, session, 1, stayers)
    for athlete in stayers:
        expect(wall.get_by_text(athlete.person.full_name).locator("visible=true")).to_be_visible()
    expect(tablet.tile(leaver).get_by_text("not here any more")).to_be_visible()
    assert RotationMark.objects.filter(skipped=True).count() == 1


@pytest.fixture
def planned(session: TrainingSession, coach: Membership, athlete: Athlete, minor: Athlete) -> TrainingSession:
    told: Turns = {
        athlete: [("pullover-1", "floor", None), ("l-hold-1", "low", 7), ("pullover-1", "rings", None)],
        minor: [("pullover-1", "low", 5), None, ("pullover-1", "low", 9)],
    }
    keep_plan(coach, session, told, make_hall(coach.gym))
    return session


def test_without_a_network_a_class_goes_on_by_its_plan(
    tablet_of: Opened, coach: Membership, planned: TrainingSession, athlete: Athlete, lost_network: Callable[[], bool]
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(planned)
    turn, step = (tablet.tile(athlete).locator(f"[data-slot={name}]") for name in ("turn", "step"))
    expect(turn).to_have_text("First: floor · then low bar, hole 7")
    tablet.context.set_offline(True)
    tablet.tap("Start rotation 1")
    expect(turn).to_have_text("Now: floor · then low bar, hole 7")
    tablet.tap("On to rotation 2")
    expect(turn).to_have_text("Now: low bar, hole 7 · then rings")
    page = page_of(athlete.gym, "l-hold-1")
    expect(step).to_have_text(f"{page.label} {page.name}")
    expect(tablet.page.get_by_text("Re-set low bar from hole 5 to hole 7")).to_be_visible()
    assert not RotationMark.objects.exists()
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored", timeout=60_000)
    assert [*RotationMark.objects.order_by("happened_at").values_list("rotation", flat=True)] == [0, 1]
    expect(turn).to_have_text("Now: low bar, hole 7 · then rings")
    tablet.tap("Back")
    expect(turn).to_have_text("Now: floor · then low bar, hole 7")
    assert lost_network()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_planned_board_keeps_nobody_out(
    tablet_of: Opened, coach: Membership, planned: TrainingSession, scheme: str
) -> None:
    tablet = tablet_of(coach, device=TABLET | {"color_scheme": scheme})
    tablet.in_class(planned)
    tablet.tap("Start rotation 1")
    expect(tablet.page.get_by_text("Rotation 1 of 3")).to_be_visible()
    found = inspection.axe_findings(tablet.page)
    for device in (PHONE, TABLET):
        tablet.page.set_viewport_size(device["viewport"])
        found += inspection.small_targets(tablet.page, inspection.BOARD_TOUCH_PX) + inspection.too_wide(tablet.page)
    assert not found
