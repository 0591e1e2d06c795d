"""What the server refuses: said in words, kept, put right by hand; it holds up nothing that waits behind it."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, expect

from athletes.core.roster import RosterEntry
from athletes.models import Athlete, Membership
from athletes.services.roster import change_athlete
from athletes.services.staff import change_rights
from skills.models import Attempt, TrainingSession
from skills.services.sessions import end_session
from tests.browser.floor.tablet import FloorPage, Opened, Tablet
from tests.factories.athletes import make_athlete
from tests.factories.skills import start_class
from tests.helpers.floor_acts import act_of, hold_body

pytestmark = pytest.mark.browser

LostNetwork = Callable[[], bool]
LEFT = "This athlete had left the gym by then."
SEED = """async (acts) => {
  const { openStore } = await import("/static/js/floor/store.js");
  const store = await openStore();
  const kept = { v: 1, after: [], state: "waiting", refusal: null };
  await store.put(...acts.map((act) => ({ ...act, ...kept, label: { number: 0, words: act.id.slice(-4) } })));
  await store.close();
}"""


def stored() -> list[tuple[str, int | None]]:
    """Each try that stands: whose, and how long."""
    found = Attempt.objects.filter(void=None).select_related("athlete__person").order_by("happened_at")
    return [(row.athlete.person.full_name, row.hold_tenths) for row in found]


def leave_the_gym(owner: Membership, athlete: Athlete) -> None:
    entry = RosterEntry(full_name=athlete.person.full_name, birth_on=athlete.person.birth_on)
    change_athlete(by=owner, athlete=athlete, entry=entry, left_on=timezone.localdate(timezone=athlete.gym.zone))


def entry_on(tablet: FloorPage, act_id: str) -> Locator:
    return tablet.page.locator(f".waiting-entry[data-key='{act_id}']")


def opened(tablet: Tablet, act_id: str) -> Locator:
    """The form of an entry on the screen of what waits."""
    entry = entry_on(tablet, act_id)
    tablet.tap(entry.get_by_role("button", name="Put right or take back"))
    expect(entry.get_by_role("button", name="Take it back")).to_be_visible()
    return entry


def saved(tablet: Tablet) -> list[dict[str, Any]]:
    """The entries in the file that the tablet gives away."""
    with tablet.page.expect_download() as download:
        tablet.tap("Keep a copy as a file")
    told = json.loads(download.value.path().read_text())
    assert told["what"] == "floor outbox"
    entries: list[dict[str, Any]] = told["entries"]
    return entries


def test_a_result_of_who_left_the_gym_meanwhile_is_refused_and_goes_to_who_it_was(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    owner: Membership,
    coach: Membership,
    athlete: Athlete,
    minor: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    felt_at = tablet.at
    tablet.hold(minor, 3.15)
    expect(tablet.stand).to_contain_text("2 waiting")
    leave_the_gym(owner, athlete)
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("1 refused")
    assert stored() == [("Mia Okafor", 31)]  # it waited behind the other one
    expect(tablet.tile(athlete)).to_contain_text(f"Refused: {LEFT}")
    (entry,) = tablet.waiting()
    tablet.go("#/waiting")
    row = entry_on(tablet, entry["id"])
    expect(row).to_contain_text(LEFT)
    expect(row).to_contain_text("2.2 s, clean")
    expect(row).to_contain_text(str(athlete.number))
    (kept,) = saved(tablet)
    assert (kept["id"], kept["coach"], kept["kind"]) == (entry["id"], str(coach.id), "attempt")
    assert (kept["body"]["athlete"], kept["body"]["hold_tenths"]) == (str(athlete.id), 22)
    assert abs(felt_at - datetime.fromisoformat(kept["device_at"]).timestamp()) < 0.1
    assert kept["refusal"]["mistakes"] == [{"field": "athlete", "sentence": LEFT}]
    form = opened(tablet, entry["id"])
    form.get_by_label("Athlete").select_option(str(minor.id))
    tablet.tap(form.get_by_role("button", name="Send it like this"))
    expect(tablet.stand).to_have_text("Everything stored")
    assert sorted(stored()) == [("Mia Okafor", 22), ("Mia Okafor", 31)]
    mended = Attempt.objects.get(pk=entry["id"])
    assert abs(mended.happened_at.timestamp() - felt_at) < 2  # its time stays that of the touch
    assert tablet.waiting() == []
    assert lost_network()


def test_a_result_of_who_left_is_taken_back_with_a_reason_and_stays_in_the_file(
    *, tablet_of: Opened, session: TrainingSession, owner: Membership, coach: Membership, athlete: Athlete
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    leave_the_gym(owner, athlete)
    tablet.hold(athlete, 2.25)
    expect(tablet.stand).to_have_text("1 refused")
    (entry,) = tablet.waiting()
    expect(tablet.says).to_contain_text(LEFT)
    tablet.tap(tablet.says.get_by_role("link", name="Put it right"))
    form = opened(tablet, entry["id"])
    tablet.tap(form.get_by_role("button", name="Take it back"))
    expect(form.get_by_role("alert")).to_have_text("Say why it is taken back.")
    assert len(tablet.waiting()) == 1
    form.get_by_label("Why it is taken back").fill("Left on Friday")
    tablet.tap(form.get_by_role("button", name="Take it back"))
    expect(tablet.page.locator("[data-slot=count]")).to_contain_text("Everything is stored")
    assert tablet.waiting() == []
    assert stored() == []
    (kept,) = saved(tablet)
    assert (kept["id"], kept["state"], kept["withdrawn"]["reason"]) == (entry["id"], "withdrawn", "Left on Friday")
    tablet.page.reload()
    assert [each["id"] for each in saved(tablet)] == [entry["id"]]


def test_a_right_that_is_given_back_lets_the_refused_result_through(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    owner: Membership,
    coach_two: Membership,
    athlete: Athlete,
    lost_network: LostNetwork,
) -> None:
    tablet = tablet_of(coach_two)
    tablet.in_class(session)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    change_rights(by=owner, coach=coach_two, rights=frozenset())
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("1 refused")
    assert stored() == []
    (entry,) = tablet.waiting()
    assert entry["refusal"]["code"] == "right"
    tablet.go("#/waiting")
    expect(entry_on(tablet, entry["id"])).to_contain_text("This coach may not log in this gym, or not any more.")
    (kept,) = saved(tablet)
    assert kept["id"] == entry["id"]
    form = opened(tablet, entry["id"])
    tablet.tap(form.get_by_role("button", name="Send it again as it was"))
    expect(tablet.page.get_by_role("status").filter(has_text="It is sent again.")).to_be_attached()
    expect(tablet.stand).to_have_text("1 refused")  # no right yet
    change_rights(by=owner, coach=coach_two, rights=frozenset({"may_log"}))
    form = opened(tablet, entry["id"])
    tablet.tap(form.get_by_role("button", name="Send it again as it was"))
    expect(tablet.stand).to_have_text("Everything stored")
    row = Attempt.objects.get()
    assert (str(row.id), row.hold_tenths, row.logged_by) == (entry["id"], 22, coach_two)
    assert lost_network()


# ---- What no tablet should have sent, in words on the waiting screen ------------------------------------------------


@pytest.fixture
def seeded(tablet_of: Opened, coach: Membership) -> Callable[..., Tablet]:
    """A tablet whose outbox has these acts since before its page was opened."""

    def seed(*acts: dict[str, Any]) -> Tablet:
        tablet = tablet_of(coach)
        tablet.page.evaluate(SEED, [*acts])
        return tablet

    return seed


def test_each_refusal_stands_in_words_and_the_good_result_behind_them_is_stored(
    *,
    seeded: Callable[..., Tablet],
    session: TrainingSession,
    coach: Membership,
    other_coach: Membership,
    athlete: Athlete,
    minor: Athlete,
) -> None:
    over = start_class(coach, athlete, name="Early class")
    end_session(by=coach, session=over, ended_at=timezone.now())
    elsewhere = make_athlete(other_coach.gym, "Zoe Uptown")
    long = act_of("attempt", coach, hold_body(session, athlete, hold_tenths=54_000))
    ahead = act_of("attempt", coach, hold_body(session, athlete), ago=timedelta(hours=-3), offset_ms=None)
    ahead |= {"life": "0190f3a4-0000-7000-8000-00000000000b"}  # before the page was opened, by a clock since put right
    closed = act_of("attempt", coach, hold_body(over, athlete, hold_tenths=61))
    foreign = act_of("attempt", coach, hold_body(session, athlete, hold_tenths=62) | {"athlete": str(elsewhere.id)})
    good = act_of("attempt", coach, hold_body(session, minor, hold_tenths=63))
    tablet = seeded(long, ahead, closed, foreign, good)
    tablet.in_class(session)
    expect(tablet.stand).to_have_text("4 refused")
    assert stored() == [("Mia Okafor", 63)]
    expect(tablet.tile(athlete)).to_contain_text("Refused: A hold lasts from 0.1 seconds to one hour.")
    tablet.go("#/waiting")
    sentences = {
        long["id"]: "A hold lasts from 0.1 seconds to one hour.",
        ahead["id"]: "The attempt lies in the future: check the clock of this device.",
        closed["id"]: "The class had ended by then: nothing is logged in it.",
        foreign["id"]: "There is no such athlete in this gym.",
    }
    for act_id, sentence in sentences.items():
        expect(entry_on(tablet, act_id).locator("[data-slot=reason]")).to_have_text(sentence)
    assert "Zoe" not in tablet.page.content()
    put_right(tablet, long["id"], {"Seconds": "54"})
    put_right(tablet, closed["id"], {"Class": str(session.id)})
    put_right(tablet, foreign["id"], {"Athlete": str(minor.id)})
    form = opened(tablet, ahead["id"])
    form.get_by_label("Why it is taken back").fill("The clock was wrong")
    tablet.tap(form.get_by_role("button", name="Take it back"))
    expect(tablet.stand).to_have_text("Everything stored")
    assert sorted(stored()) == [
        ("Ada Lindqvist", 61),
        ("Ada Lindqvist", 540),
        ("Mia Okafor", 62),
        ("Mia Okafor", 63),
    ]
    assert {str(row.session_id) for row in Attempt.objects.all()} == {str(session.id)}
    assert [(each["id"], each["state"]) for each in saved(tablet)] == [(ahead["id"], "withdrawn")]


def put_right(tablet: Tablet, act_id: str, typed: dict[str, str]) -> None:
    form = opened(tablet, act_id)
    for label, value in typed.items():
        field = form.get_by_label(label, exact=True)
        if field.evaluate("(node) => node.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
    tablet.tap(form.get_by_role("button", name="Send it like this"))
    expect(entry_on(tablet, act_id)).to_have_count(0)


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("Seconds", "5400", "A hold lasts from 0.1 seconds to one hour."),
        ("Reps", "600", "Reps are a whole number from 1 to 500."),
    ],
)
def test_a_figure_that_nobody_reaches_is_refused_on_the_tile_and_put_right(
    *,
    tablet_of: Opened,
    session: TrainingSession,
    coach: Membership,
    athlete: Athlete,
    field: str,
    typed: str,
    sentence: str,
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    tablet.open(athlete)
    tablet.tap("5 s")
    tablet.page.locator("details.more > summary").tap()
    tablet.page.locator("form.attempt").get_by_label(field, exact=True).fill(typed)
    tablet.tap("Keep as ticked")
    expect(tablet.stand).to_have_text("1 refused")
    expect(tablet.tile(athlete)).to_contain_text(f"Refused: {sentence}")
    expect(tablet.says).to_contain_text(f"Not taken: {sentence}")
    assert stored() == []
    (entry,) = tablet.waiting()
    tablet.tap(tablet.says.get_by_role("link", name="Put it right"))
    form = opened(tablet, entry["id"])
    form.get_by_label(field, exact=True).fill("soon")
    tablet.tap(form.get_by_role("button", name="Send it like this"))
    expect(form.get_by_role("alert")).not_to_be_empty()  # still here, and nothing was sent
    form.get_by_label(field, exact=True).fill("6")
    tablet.tap(form.get_by_role("button", name="Send it like this"))
    expect(tablet.stand).to_have_text("Everything stored")
    row = Attempt.objects.get()
    assert (str(row.id), row.hold_tenths, row.reps) == (entry["id"], *((60, 1) if field == "Seconds" else (50, 6)))
