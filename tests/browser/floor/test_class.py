"""A class of twelve from its first tap to its last, with the network gone for its middle third."""

import time
from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.models import Athlete, HandOver, Membership
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from skills.models import Attempt, FloorAct, TrainingSession
from tests.browser.devices import TABLET, TABLET_LANDSCAPE, Device
from tests.browser.floor.tablet import Tablet
from tests.browser.watch import Watch
from tests.factories.athletes import make_athlete
from tests.factories.skills import library, step_of

pytestmark = pytest.mark.browser

CODE, OTHER_CODE = "402917", "918273"
COUNT_IN_S = 3.0
NAMES = (
    "Bo Li",
    "Kim Ahl",
    "Ciro Vale",
    "Dunja Perl",
    "Emre Tas",
    "Fay Holm",
    "Gil Ro",
    "Hana Sun",
    "Ivo Kern",
    "Jun Mori",
)
GROUP = ".group-person:not(:disabled)"
NEAR_S = 2.0
Felt = dict[tuple[str, int | None, int], float]  # by name, tenths and reps: when the touch that made it was felt


@pytest.fixture
def people(athlete: Athlete, minor: Athlete, coach: Membership, owner: Membership) -> list[Athlete]:
    """Twelve who practise; two coaches with codes."""
    library(athlete.gym, coach)
    set_code(by=coach, code=CODE)
    set_code(by=owner, code=OTHER_CODE)
    return [athlete, minor, *(make_athlete(athlete.gym, name) for name in NAMES)]


def type_code(tablet: Tablet, coach: Membership, code: str) -> None:
    tablet.tap(tablet.page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    for digit in code:
        tablet.tap(tablet.page.locator(f"[data-digit='{digit}']"))
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text(coach.person.full_name)


def begin(open_page: Callable[..., Page], owner: Membership, coach: Membership, device: Device) -> Tablet:
    """Let the tablet in by the owner's code, take it over, start the class: through the screens alone."""
    page = open_page(device)
    tablet = Tablet(page)
    page.goto("/floor/")
    page.get_by_label("Code, such as").fill(add_tablet(by=owner, name="ring side").code)
    page.get_by_role("button", name="Let it in").tap()
    type_code(tablet, coach, CODE)
    expect(page.get_by_role("heading", name="Classes today")).to_be_visible()
    expect(page.locator("#class-name")).not_to_have_value("")  # the day has been heard of
    before = tablet.taps
    tablet.tap("Start the class")
    expect(page.get_by_role("heading", name="Who is here")).to_be_visible()
    assert tablet.taps - before <= 2
    return tablet


def here(tablet: Tablet, athlete: Athlete) -> None:
    row = tablet.page.locator(f"[data-do=toggle-here][data-athlete='{athlete.id}']")
    tablet.tap(row)
    expect(row).to_have_attribute("aria-pressed", "true")


def rows() -> list[tuple[str, int, int, str, tuple[str, ...], bool, str]]:
    """Each try that stands: who, how long (0 for reps), how often, by whom measured, faults, pain, logged by whom."""
    found = Attempt.objects.filter(void=None).select_related("athlete__person", "logged_by__person")
    return sorted(
        (
            row.athlete.person.full_name,
            row.hold_tenths or 0,
            row.reps,
            row.source,
            tuple(row.faults),
            row.pain,
            row.logged_by.person.full_name,
        )
        for row in found
    )


def test_a_class_of_twelve_with_the_network_gone_for_its_middle_third(
    *,
    open_page: Callable[..., Page],
    owner: Membership,
    coach: Membership,
    people: list[Athlete],
    watch: Watch,
    lost_network: Callable[[], bool],
) -> None:
    watch.expected |= {404}
    began_at = timezone.now()
    felt: Felt = {}
    tablet = begin(open_page, owner, coach, TABLET)
    first_third(tablet, people, felt)
    group_that_loses_the_network(tablet, people, felt)
    middle_third(tablet, people, owner, felt)
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    last_third(tablet, people, felt)
    assert lost_network()
    cleo, olga = coach.person.full_name, owner.person.full_name
    assert rows() == sorted(
        [
            (people[0].person.full_name, 22, 1, "judged", (), False, cleo),
            (people[0].person.full_name, 0, 4, "judged", (), False, cleo),
            (people[0].person.full_name, 0, 12, "judged", ("leans-away",), False, cleo),
            (people[1].person.full_name, 31, 1, "judged", ("shoulders-close",), False, cleo),
            (people[2].person.full_name, 100, 3, "counted", (), False, cleo),
            *((one.person.full_name, 20, 1, "timed_only", (), False, cleo) for one in people[3:6]),
            (people[6].person.full_name, 20, 1, "judged", (), False, cleo),
            (people[7].person.full_name, 11, 1, "timed_only", (), False, cleo),
            (people[8].person.full_name, 33, 1, "judged", (), False, cleo),
            (people[9].person.full_name, 44, 1, "judged", (), True, olga),
            (people[10].person.full_name, 24, 1, "judged", (), False, olga),
        ]
    )
    whole = TrainingSession.objects.get()
    assert whole.ended_at is not None
    assert HandOver.objects.get(coach=owner).claimed_at is not None
    moments = [*Attempt.objects.values_list("happened_at", flat=True)]
    assert all(began_at <= at <= whole.ended_at for at in moments)
    made = {
        (row.athlete.person.full_name, row.hold_tenths, row.reps): row.happened_at.timestamp()
        for row in Attempt.objects.filter(void=None).select_related("athlete__person")
    }
    assert made.keys() == felt.keys()
    apart = {key: made[key] - at for key, at in felt.items() if abs(made[key] - at) > NEAR_S}
    assert apart == {}
    assert FloorAct.objects.values("id").distinct().count() == FloorAct.objects.count()


def first_third(tablet: Tablet, people: list[Athlete], felt: Felt) -> None:
    """Presence, a guest, a clean hold, one with a fault, a counted set, reps tapped and typed."""
    for athlete in people[:10]:
        here(tablet, athlete)
    tablet.page.get_by_text("A guest", exact=True).tap()
    tablet.page.get_by_label("Name of the guest").fill("Gus Vale")
    tablet.page.get_by_label("an adult").tap()
    tablet.tap("Add the guest")
    expect(tablet.page.locator(".tile")).to_have_count(11)
    tablet.hold(people[0], 2.25)
    note(felt, tablet, people[0], 22)
    expect(tablet.logged).to_contain_text("Stored: 2.2 s, clean")
    tablet.hold(people[1], 3.15, stop="Shoulders close")
    note(felt, tablet, people[1], 31)
    expect(tablet.logged).to_contain_text("Stored: 3.1 s, Shoulders close")
    expect(tablet.logged).to_contain_text("“Long arms, look ahead”")
    tablet.open(people[2])
    for key in ("10 s", "× 3", "Clean"):
        tablet.tap(key)
    note(felt, tablet, people[2], 100, reps=3)
    expect(tablet.logged).to_contain_text("Stored: 3 × 10 s")
    reps(tablet, people[0], felt)


def reps(tablet: Tablet, athlete: Athlete, felt: Felt) -> None:
    """Another step, of reps: four tapped one by one, then twelve typed, with a fault."""
    page = tablet.page
    tablet.open(athlete)
    page.locator(".choices-box > summary").tap()
    step = step_of(athlete.gym, "toes-1")
    tablet.tap(page.locator(f"[data-do=step][data-step='{step.id}']"))
    figure = page.locator("[data-slot=count-figure]")
    expect(figure).to_have_text("0")
    for count in range(1, 5):
        tablet.tap(page.locator(".clock[data-do=rep]"))
        expect(figure).to_have_text(str(count))
    tablet.tap("Clean")
    note(felt, tablet, athlete, None, reps=4)
    expect(tablet.logged).to_contain_text("Stored: 4 reps, clean")
    page.locator("details.more > summary").tap()
    page.locator("form.attempt").get_by_label("Reps", exact=True).fill("12")
    page.locator("details.more > summary").tap()
    expect(figure).to_have_text("12")
    tablet.tap("Leans away")
    note(felt, tablet, athlete, None, reps=12)
    expect(tablet.logged).to_contain_text("Stored: 12 reps, Leans away")


def note(felt: Felt, tablet: Tablet, athlete: Athlete, tenths: int | None, *, reps: int = 1) -> None:
    """Remember that the last touch made this result."""
    felt[athlete.person.full_name, tenths, reps] = tablet.at


def group_that_loses_the_network(tablet: Tablet, people: list[Athlete], felt: Felt) -> None:
    """Five hang for 2 s; one comes down early; the network goes while they hang."""
    page = tablet.page
    page.get_by_role("button", name="Group clock").tap()
    page.get_by_label("or seconds").fill("2")
    for athlete in people[3:8]:
        tablet.tap(page.locator(f"[data-do=group-person][data-athlete='{athlete.id}']"))
    expect(page.locator("[data-slot=group]")).to_have_text("5 at 2 s")
    tablet.at = max(time.time(), tablet.at + 0.4)
    page.wait_for_timeout(max(0.0, (tablet.at - time.time()) * 1000))
    tablet.touch(page.locator("[data-do=group-start]"), tablet.at)
    expect(page.locator(GROUP).first).to_contain_text("hangs")
    tablet.context.set_offline(True)
    early = page.locator(f"[data-do=group-person][data-athlete='{people[7].id}']")
    hung_at = tablet.at + COUNT_IN_S
    tablet.at = hung_at + 1.15
    page.wait_for_timeout(max(0.0, (tablet.at - time.time()) * 1000))
    tablet.touch(early, tablet.at)
    note(felt, tablet, people[7], 11)
    for one_of_them in people[3:7]:
        felt[one_of_them.person.full_name, 20, 1] = hung_at + 2  # by the clock alone: no touch ends it
    results = page.locator(".result")
    expect(results).to_have_count(5)
    expect(results.filter(has_text="2 s, clean, timed only")).to_have_count(4)
    one = page.locator(f"[data-do=group-judge][data-athlete='{people[6].id}']")
    tablet.tap(one)
    expect(one).to_be_hidden()


def middle_third(tablet: Tablet, people: list[Athlete], owner: Membership, felt: Felt) -> None:
    """No network: an undo, a mis-tapped athlete, the page opened anew, another coach takes over, pain."""
    page = tablet.page
    page.get_by_role("button", name="To the class").tap()
    tablet.hold(people[8], 5.25)
    expect(tablet.logged).to_contain_text("Kept: 5.2 s, clean")
    page.get_by_text("Undo", exact=True).tap()
    tablet.tap("Wrong time or count")
    expect(tablet.logged).to_contain_text("Taken back:")
    tablet.hold(people[9], 3.35)
    note(felt, tablet, people[8], 33)  # whose it was
    expect(tablet.logged).to_contain_text("Kept: 3.3 s")
    page.get_by_text("Undo", exact=True).tap()
    tablet.tap(page.locator(f"[data-do=move][data-athlete='{people[8].id}']"))
    expect(tablet.tile(people[8])).to_contain_text("3.3 s")
    opened_anew(tablet)
    expect(tablet.tile(people[8])).to_contain_text("3.3 s")
    tablet.go("#/coach")
    type_code(tablet, owner, OTHER_CODE)
    expect(page.locator("[data-slot=unsure]")).to_have_text("not confirmed: type the code")
    tablet.hold(people[9], 4.45)
    note(felt, tablet, people[9], 44)
    page.get_by_text("More: it hurt").tap()
    tablet.tap("Rest, then something else")
    expect(page.locator("[data-slot=paused]")).to_be_visible()
    expect(tablet.stand).to_contain_text("waiting")


def opened_anew(tablet: Tablet) -> None:
    """Load the page again, from the device alone: the outbox, the board and the place are as they were."""
    page = tablet.page
    before, place = tablet.waiting(), page.url
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-ready", "")
    expect(page.locator(".tile")).to_have_count(11)
    assert (tablet.waiting(), page.url) == (before, place)
    assert before


def last_third(tablet: Tablet, people: list[Athlete], felt: Felt) -> None:
    """Somebody comes late and holds; the end names for whom nothing was logged."""
    page = tablet.page
    page.get_by_role("button", name="Who is here").tap()
    for late in people[10:]:
        here(tablet, late)
    tablet.hold(people[10], 2.45)
    note(felt, tablet, people[10], 24)
    expect(tablet.logged).to_contain_text("Stored: 2.4 s, clean")
    page.get_by_role("button", name="End class").tap()
    nothing = page.locator("[data-slot=people] .row")
    expect(nothing).to_have_count(2)
    expect(nothing.nth(0)).to_contain_text(people[11].person.full_name)
    expect(nothing.nth(1)).to_contain_text("G. V.")  # a guest stands by initials
    tablet.tap("End the class")
    expect(page.locator("[data-slot=about]").first).to_contain_text("ended")
    expect(tablet.stand).to_have_text("Everything stored")


def test_a_short_class_held_across(
    *,
    open_page: Callable[..., Page],
    owner: Membership,
    coach: Membership,
    people: list[Athlete],
    watch: Watch,
    lost_network: Callable[[], bool],
) -> None:
    watch.expected |= {404}
    tablet = begin(open_page, owner, coach, TABLET_LANDSCAPE)
    for athlete in people[:3]:
        here(tablet, athlete)
    tablet.hold(people[0], 2.25)
    tablet.context.set_offline(True)
    tablet.hold(people[1], 2.35)
    expect(tablet.logged).to_contain_text("Kept: 2.3 s")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    tablet.hold(people[2], 2.45)
    expect(tablet.logged).to_contain_text("Stored: 2.4 s")
    assert [row[1] for row in rows()] == [22, 24, 23]  # by name: Ada, Bo, Mia
    assert lost_network()
