"""Pain and cautions on the floor without a network: every step with that load pauses until the caution is lifted."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from athletes.models import Athlete, Caution, Membership, Remark, SkinNote
from skills.models import TrainingSession
from skills.queries.books import book_of
from skills.services.cautions import lift_caution
from tests.browser.floor.tablet import Opened, Tablet

pytestmark = pytest.mark.browser

LostNetwork = Callable[[], bool]
PAUSED = "paused"


def states(tablet: Tablet) -> dict[str, str]:
    """The open steps as the panel offers them, by their ids: in which state each is said to be."""
    found: dict[str, str] = tablet.page.locator("[data-slot=open-steps]").evaluate(
        """(list) => Object.fromEntries([...list.querySelectorAll("[data-step]")].map(
          (row) => [row.dataset.step, row.querySelector("[data-slot=state]").textContent]))"""
    )
    return found


def with_load(athlete: Athlete, loads: frozenset[str]) -> set[str]:
    book = book_of(athlete.gym)
    return {str(book.steps[code].id) for code, rule in book.rules.steps.items() if rule.loads & loads}


def opened_anew(tablet: Tablet, athlete: Athlete) -> None:
    before = tablet.waiting()
    tablet.page.reload()
    expect(tablet.page.locator("#panel-title")).to_contain_text(str(athlete.number))
    assert tablet.waiting() == before


def offline(tablet: Tablet) -> None:
    tablet.page.evaluate("async () => void (await navigator.serviceWorker.ready)")
    tablet.context.set_offline(True)


def test_pain_without_a_network_pauses_every_step_with_the_load_through_a_reload_until_it_is_lifted(
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
    tablet.open(athlete)
    expect(tablet.page.locator("[data-slot=open-steps] [data-step]")).not_to_have_count(0)
    open_steps = {*states(tablet)}
    loads = book_of(athlete.gym).rules.steps["pullover-1"].loads
    halted, free = open_steps & with_load(athlete, loads), open_steps - with_load(athlete, loads)
    assert len(halted) > 1
    assert free
    offline(tablet)
    tablet.hold(athlete, 2.25)
    tablet.page.locator("details.more > summary").tap()
    tablet.tap("left")
    tablet.tap("shoulder")
    expect(tablet.button("shoulder")).to_have_attribute("aria-pressed", "true")
    tablet.tap("Stop for today")

    def is_halted() -> None:
        expect(tablet.page.locator("[data-slot=paused]")).to_be_visible()
        expect(tablet.tile(athlete)).to_contain_text("paused, it hurt")
        expect(tablet.logged).to_contain_text("It hurt: every step with the same load (hanging")
        assert {step for step, state in states(tablet).items() if state == PAUSED} == halted
        expect(tablet.tile(minor)).not_to_contain_text(PAUSED)

    is_halted()
    opened_anew(tablet, athlete)
    is_halted()
    assert not Caution.objects.exists()
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    caution = Caution.objects.get()
    assert {*caution.loads} == loads
    assert Remark.objects.get(about=caution.id).text == "Pain: left shoulder. Stop for today"
    expect(tablet.page.locator("[data-slot=paused]")).to_be_visible()
    assert {step for step, state in states(tablet).items() if state == PAUSED} == halted
    lift_caution(by=coach, caution=caution)
    tablet.page.reload()
    expect(tablet.page.locator("[data-slot=paused]")).to_be_hidden()
    assert lost_network()


def test_a_caution_and_torn_skin_without_a_network_are_there_at_once_and_everywhere_when_sent(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.open(athlete)
    offline(tablet)
    tablet.page.locator("details.unwell > summary").tap()
    tablet.tap("Torn skin: noted, pauses nothing")
    expect(tablet.tile(athlete)).to_contain_text("torn skin")
    expect(tablet.page.locator("[data-slot=paused]")).to_be_hidden()
    tablet.tap("hanging")
    expect(tablet.page.locator("[data-slot=paused]")).to_be_visible()
    expect(tablet.tile(athlete)).to_contain_text("Caution: no hanging until it is lifted")
    opened_anew(tablet, athlete)
    expect(tablet.tile(athlete)).to_contain_text("Caution: no hanging until it is lifted")
    tablet.page.locator("details.unwell > summary").tap()
    tablet.tap("Dizzy or headache: nothing upside down today")
    expect(tablet.tile(athlete)).to_contain_text("no inversion today")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    said = {(tuple(row.loads), row.until_at is None) for row in Caution.objects.all()}
    assert said == {(("hanging",), True), (("inversion",), False)}
    assert SkinNote.objects.get().athlete == athlete
    expect(tablet.tile(athlete)).to_contain_text("orn skin, shown until")
    expect(tablet.page.locator("[data-slot=paused]")).to_be_visible()
    assert lost_network()
