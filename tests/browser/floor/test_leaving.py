"""Leaving a tablet, and a tablet without room: nothing goes silently, and nobody's name stays behind."""

from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import APIResponse, Route, expect

from athletes.models import Athlete, HandOver, Membership
from gymtrack.lib.ids import new_id
from skills.models import Attempt, TrainingSession
from tests.browser.floor.tablet import KEEP, Opened, Tablet
from tests.helpers.floor import CODE

pytestmark = pytest.mark.browser

LostNetwork = Callable[[], bool]
FULL = """() => {
  IDBObjectStore.prototype.hadRoom ??= IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
}"""
ROOM = "() => { IDBObjectStore.prototype.put = IDBObjectStore.prototype.hadRoom; }"
EVERYTHING = """async () => {
  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const found = { indexeddb: {}, caches: {}, storage: [{ ...localStorage }, { ...sessionStorage }, document.cookie] };
  for (const { name } of await indexedDB.databases()) {
    const database = await done(indexedDB.open(name));
    for (const store of database.objectStoreNames) {
      const values = database.transaction(store).objectStore(store);
      const [keys, rows] = await Promise.all([done(values.getAllKeys()), done(values.getAll())]);
      found.indexeddb[`${name}/${store}`] = keys.map((key, place) => [key, rows[place]]);
    }
    database.close();
  }
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys())
      found.caches[`${name} ${request.url}`] = await (await cache.match(request)).text();
  }
  return found;
}"""


def everything(tablet: Tablet) -> dict[str, Any]:
    """All that the device keeps: every database, every cache, and what little stands beside them."""
    found: dict[str, Any] = tablet.page.evaluate(EVERYTHING)
    return found


def names_on(tablet: Tablet, *people: Athlete) -> set[str]:
    """Whose names stand anywhere on the device: as the board shows them, or in full."""
    text = repr(everything(tablet))
    names = {name for one in people for name in (one.person.full_name, one.board_name)}
    return {name for name in names if name in text}


def installed(tablet: Tablet) -> None:
    """Wait until the app would open without a network."""
    tablet.page.evaluate("async () => void (await navigator.serviceWorker.ready)")


# ---- Signing out -------------------------------------------------------------------------------------------------


def test_signing_out_asks_first_and_staying_keeps_all(
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
    tablet.hold(minor, 3.15)
    before = tablet.waiting()
    tablet.go("#/leave")
    expect(tablet.page.locator("[data-slot=outbox-words]")).to_have_text("2 entries still wait to be sent.")
    tablet.tap("Stay")
    expect(tablet.page.get_by_role("heading", name="Classes today")).to_be_visible()
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text(coach.person.full_name)
    assert tablet.waiting() == before
    assert [entry["body"]["hold_tenths"] for entry in before] == [22, 31]
    tablet.go(f"#/class/{session.id}")
    expect(tablet.tile(athlete)).to_contain_text("Kept: 2.2 s")
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert lost_network()


def sign_out(tablet: Tablet, words: str = "Sign out") -> None:
    tablet.go("#/leave")
    tablet.tap(words)
    expect(tablet.page.get_by_role("heading", name="Who holds this tablet?")).to_be_visible()
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text("")


def test_after_sending_nobodys_name_stays_on_the_device(
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
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert names_on(tablet, athlete, minor) == {athlete.board_name, minor.board_name}  # or the look finds nothing
    sign_out(tablet)
    assert names_on(tablet, athlete, minor) == set()
    assert HandOver.objects.exclude(ended_at=None).count() == 1
    tablet.page.reload()
    expect(tablet.page.get_by_role("heading", name="Who holds this tablet?")).to_be_visible()
    expect(tablet.page.locator("body")).not_to_contain_text(athlete.board_name)
    assert names_on(tablet, athlete, minor) == set()
    assert [row.hold_tenths for row in Attempt.objects.all()] == [22]
    assert lost_network()


def test_without_a_network_too_and_the_server_hears_of_it_later(
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
    installed(tablet)
    tablet.context.set_offline(True)
    tablet.hold(athlete, 2.25)
    assert names_on(tablet, athlete, minor) == {athlete.board_name, minor.board_name}
    sign_out(tablet, "Sign out, and keep them here")
    assert names_on(tablet, athlete, minor) == set()
    assert [entry["body"]["hold_tenths"] for entry in tablet.waiting()] == [22]
    assert not HandOver.objects.exclude(ended_at=None).exists()
    tablet.page.reload()
    tablet.go(f"#/class/{session.id}")
    expect(tablet.page.get_by_role("heading", name="Who holds this tablet?")).to_be_visible()
    expect(tablet.page.locator("body")).not_to_contain_text(athlete.board_name)
    tablet.context.set_offline(False)
    take_over(tablet, coach)
    expect(tablet.stand).to_have_text("Everything stored")
    expect(tablet.tile(athlete)).to_contain_text("2.2 s")
    assert [row.hold_tenths for row in Attempt.objects.all()] == [22]
    assert HandOver.objects.exclude(ended_at=None).count() == 1
    assert lost_network()


def test_a_guest_who_was_taken_back_stays_by_initials_alone(
    tablet_of: Opened, session: TrainingSession, coach: Membership
) -> None:
    tablet = tablet_of(coach)
    body = {"session": str(session.id), "name": "Gus Vale", "is_minor": False}
    entry = {"id": str(new_id()), "kind": "guest", "coach": str(coach.id), "body": body}
    taken = {"reason": "Was here already", "at": timezone.now().isoformat(), "entry": entry}
    tablet.page.evaluate(KEEP, {"withdrawn": [taken]})
    tablet.in_class(session)
    assert "Gus Vale" in repr(everything(tablet))
    sign_out(tablet)
    left = everything(tablet)
    assert "Gus Vale" not in repr(left)
    ((_, kept),) = [row for row in left["indexeddb"]["floor/kept"] if row[0] == "withdrawn"]
    assert kept == [{**taken, "entry": {**entry, "body": {**body, "name": "G. V."}}}]


def take_over(tablet: Tablet, coach: Membership) -> None:
    tablet.tap(tablet.page.locator(f"[data-do=choose-coach][data-coach='{coach.id}']"))
    for digit in CODE:
        tablet.tap(tablet.page.locator(f"[data-digit='{digit}']"))
    expect(tablet.page.locator("[data-slot=holder]")).to_have_text(coach.person.full_name)


@pytest.mark.parametrize("address", ["**/api/v1/floor/today/", "**/api/v1/floor/sessions/*/", "**/api/v1/floor/acts/"])
def test_an_answer_that_comes_after_signing_out_brings_no_name_back(
    *, tablet_of: Opened, session: TrainingSession, coach: Membership, athlete: Athlete, minor: Athlete, address: str
) -> None:
    tablet = tablet_of(coach)
    tablet.in_class(session)
    held_up: list[tuple[Route, APIResponse]] = []
    tablet.page.route(address, lambda route: held_up.append((route, route.fetch())))
    if "acts" in address:
        tablet.hold(athlete, 2.25)
    else:
        tablet.page.reload()
    expect_some(tablet, held_up)
    sign_out(tablet, "Sign out, and keep them here" if "acts" in address else "Sign out")
    for route, answer in held_up:
        assert answer.status == 200  # given before, and on its way since
        route.fulfill(response=answer)
    tablet.page.unroute(address)
    tablet.page.wait_for_timeout(1000)
    assert names_on(tablet, athlete, minor) == set()
    expect(tablet.page.locator("body")).not_to_contain_text(athlete.board_name)


def expect_some(tablet: Tablet, held_up: list[tuple[Route, APIResponse]]) -> None:
    for _ in range(100):
        if held_up:
            return
        tablet.page.wait_for_timeout(100)
    message = "Nothing was asked."
    raise AssertionError(message)


# ---- No room -----------------------------------------------------------------------------------------------------


def test_a_full_disk_is_said_and_never_called_kept_and_the_next_result_is_kept_when_there_is_room(
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
    expect(tablet.tile(athlete)).to_contain_text("Kept: 2.2 s")
    before = tablet.waiting()
    room(tablet, is_full=True)
    tablet.hold(minor, 3.15)
    alarm = tablet.page.get_by_role("alert")
    expect(alarm).to_contain_text("This tablet is full: this was not kept.")
    expect(tablet.tile(minor)).to_contain_text("not kept")
    expect(tablet.tile(minor)).not_to_contain_text("Kept")
    expect(tablet.page.locator("#panel [data-slot=unkept]")).to_contain_text("This was not kept: 3.1 s, clean")
    assert tablet.waiting() == before
    expect(tablet.tile(athlete)).to_contain_text("Kept: 2.2 s")
    expect(tablet.stand).to_contain_text("1 waiting")
    room(tablet, is_full=False)
    tablet.tap("Keep it again")
    expect(tablet.logged).to_contain_text("Kept: 3.1 s")
    tablet.hold(athlete, 4.05)
    expect(tablet.logged).to_contain_text("Kept: 4 s")
    assert [entry["body"]["hold_tenths"] for entry in tablet.waiting()] == [22, 31, 40]
    tablet.context.set_offline(False)
    expect(tablet.stand).to_have_text("Everything stored")
    assert sorted(row.hold_tenths or 0 for row in Attempt.objects.all()) == [22, 31, 40]
    assert lost_network()


def room(tablet: Tablet, *, is_full: bool) -> None:
    """Fill the device, or make room on it: whatever is put into its database from now on finds none."""
    tablet.page.evaluate(FULL if is_full else ROOM)
