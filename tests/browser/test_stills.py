"""The angle on a still: a picture is chosen, its joints are tapped, and the number alone leaves the page."""

from base64 import b64decode
from collections.abc import Callable, Iterator
from http import HTTPStatus
from typing import Any
from urllib.parse import parse_qs

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, Request, expect
from pytest_django.live_server_helper import LiveServer

from athletes.models import Athlete, Membership
from skills.models import Attempt, AttemptVoid, TrainingSession
from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.hands import PAUSE_MS
from tests.browser.test_accessible import judged
from tests.browser.watch import Watch
from tests.factories.skills import library, log, measure_angle, start_class
from tests.helpers.pictures import Place, Still, turned_by_camera
from tests.helpers.wire import Wire, wire_before

pytestmark = pytest.mark.browser

Open = Callable[..., Page]
WORDS = "legs from straight down, 90 is level"
CANVAS = "[data-still-canvas]"


@pytest.fixture
def session(owner: Membership, coach: Membership, athlete: Athlete) -> TrainingSession:
    library(owner.gym, owner)
    measure_angle(owner.gym, "pullover-1", WORDS)
    return start_class(coach, athlete)


@pytest.fixture
def attempt(session: TrainingSession, coach: Membership, athlete: Athlete) -> Attempt:
    return log(coach, athlete, "pullover-1", 5.2, session=session)


# ---- Hands ------------------------------------------------------------------------------------------------------
def choose(page: Page, file: bytes, name: str = "still.png", kind: str = "image/png") -> None:
    page.get_by_label("Choose a picture", exact=True).set_input_files({"name": name, "mimeType": kind, "buffer": file})


def choose_still(page: Page, still: Still, **more: Any) -> None:
    choose(page, still.png(**more))
    expect(page.locator(CANVAS)).to_be_visible()


def tap(page: Page, still: Still, place: Place) -> None:
    """Tap a place of the picture that is seen whole."""
    canvas = page.locator(CANVAS)
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box
    scale = min(box["width"] / still.width, box["height"] / still.height)
    left = (box["width"] - still.width * scale) / 2
    top = (box["height"] - still.height * scale) / 2
    page.touchscreen.tap(box["x"] + left + place[0] * scale, box["y"] + top + place[1] * scale)
    page.wait_for_timeout(PAUSE_MS)


def tap_joints(page: Page, still: Still, *names: str) -> None:
    for name in names:
        expect(page.locator("[data-still-say]")).to_contain_text(f"Tap the {name.lower()}")
        tap(page, still, still.joints[name])


def degrees_of(words: str) -> list[int]:
    return [int(part.rstrip("°")) for part in words.replace(",", "").split() if part.rstrip("°").isdigit()]


def value(page: Page) -> int:
    return degrees_of(page.locator("[data-still-value]").inner_text())[0]


def interval(page: Page) -> tuple[int, int]:
    low, high, *_ = degrees_of(page.locator("[data-still-interval]").inner_text())
    return low, high


# ---- Nothing of the picture leaves ------------------------------------------------------------------------------
@pytest.fixture
def wire(live_server: LiveServer) -> Iterator[Wire]:
    with wire_before(live_server.url) as wire:
        yield wire


@pytest.fixture
def wire_watch(wire: Wire) -> Iterator[Watch]:
    """As `watch`, for pages that are opened over the wire: they ask nobody else either."""
    watch = Watch(wire.url)
    yield watch
    assert watch.misdeeds == []


@pytest.fixture
def open_over(
    wire: Wire,
    wire_watch: Watch,
    new_context: Callable[..., BrowserContext],
    client_of: Callable[[Membership], Client],
) -> Callable[[Membership], Page]:
    """Open a page through the wire, signed in as somebody."""

    def opened(who: Membership) -> Page:
        context = new_context(**TABLET)
        wire_watch.over(context)
        cookie = client_of(who).cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": wire.url}])
        return context.new_page()

    return opened


def pieces(file: bytes) -> list[bytes]:
    """Parts of a file that stand nowhere else: no header of pictures, but its own bytes."""
    return [file[at : at + 24] for at in range(200, len(file) - 24, max(len(file) // 40, 1))]


STORES = """async () => ({
  caches: await caches.keys(),
  databases: (await indexedDB.databases()).map((one) => one.name),
  local: localStorage.length,
  session: Object.keys(sessionStorage).filter((name) => !name.startsWith("htmx-current-path")),
  workers: (await navigator.serviceWorker.getRegistrations()).length,
  files: [...document.querySelectorAll("input[type=file]")].reduce((sum, input) => sum + input.files.length, 0),
  addresses: performance.getEntriesByType("resource").filter((one) => !one.name.startsWith(location.origin)).length,
})"""
NOTHING = {"caches": [], "databases": [], "local": 0, "session": [], "workers": 0, "files": 0, "addresses": 0}


def stored_over(page: Page, wire: Wire, attempt: Attempt, file: bytes, canary: str) -> tuple[int, Request]:
    """Read and store an angle; returns how many bytes the browser sent from the choosing on, and what stored it."""
    requests: list[Request] = []

    def note(request: Request) -> None:  # Playwright takes no method of a list
        requests.append(request)

    page.goto(wire.url + reverse("attempt_angle", args=[attempt.id]), wait_until="networkidle")
    page.context.on("request", note)
    before = len(wire.sent)
    choose(page, file, name=f"{canary}.png")
    tap_joints(page, Still(), "Hip", "Ankle")
    page.get_by_role("button", name=f"Use {value(page)}°").tap()
    expect(page.get_by_label(f"Angle in degrees: {WORDS}")).to_be_focused()
    assert page.evaluate(STORES) == NOTHING
    page.wait_for_timeout(PAUSE_MS)
    assert len(wire.sent) == before, "something was sent before anybody asked to store"
    assert requests == []
    page.get_by_role("button", name="Store the angle").tap()
    expect(page.get_by_text("The try was entered again with its angle.")).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert page.evaluate(STORES) == NOTHING
    for words in (canary.encode(), *pieces(file)):
        assert not wire.carries(words)
    assert not [one.url for one in requests if not one.url.startswith(wire.url)]  # neither blob: nor data:
    return len(wire.sent) - before, next(one for one in requests if one.method == "POST")


def test_no_request_carries_the_picture_or_grows_by_it(
    open_over: Callable[[Membership], Page], wire: Wire, coach: Membership, session: TrainingSession, athlete: Athlete
) -> None:
    sent = []
    for canary, padding in (("canary-small-5cf1", 0), ("canary-large-5cf1", 3_000_000)):
        attempt = log(coach, athlete, "pullover-1", 5.2, session=session)
        size, post = stored_over(open_over(coach), wire, attempt, Still().png(canary, padding), canary)
        body = post.post_data or ""
        said = parse_qs(body, keep_blank_values=True)
        assert said.keys() == {"csrfmiddlewaretoken", "id", "read_on", "next", "angle"}
        assert (said["angle"], said["read_on"]) == (["80"], ["still"])
        sent.append((size, len(body)))
        assert Attempt.objects.filter(void=None, angle_degrees=80).count() == len(sent)
    assert sent[0] == sent[1], "the larger picture made the browser send more"


def test_the_wire_would_show_a_picture_that_was_sent(
    open_over: Callable[[Membership], Page], wire: Wire, wire_watch: Watch, coach: Membership, attempt: Attempt
) -> None:
    """What the test above looks for is found where a page does send it."""
    wire_watch.expected |= {HTTPStatus.FORBIDDEN}  # without a token nothing is taken, and the bytes went out
    file = Still(width=60, height=80).png("canary-sent-77aa", 2000)
    page = open_over(coach)
    page.goto(wire.url + reverse("attempt_angle", args=[attempt.id]), wait_until="networkidle")
    send = """([address, body]) => fetch(address, { method: "POST", body }).then(() => "sent")"""
    assert not wire.carries(b"canary-sent-77aa")
    page.evaluate(send, ["/kept/", "in the open: canary-sent-77aa"])
    assert wire.carries(b"canary-sent-77aa")
    piece = pieces(file)[2]
    assert not wire.carries(piece)
    to_base64 = """([address, bytes]) => fetch(address, { method: "POST", body: btoa(String.fromCharCode(...bytes)) })
      .then(() => "sent")"""
    page.evaluate(to_base64, ["/kept/", [*file]])
    assert wire.carries(piece)


def test_the_picture_is_gone_when_the_page_is_left(open_page: Open, coach: Membership, attempt: Attempt) -> None:
    still, page = Still(), open_page(TABLET, coach)
    address = reverse("attempt_angle", args=[attempt.id])
    page.goto(address)
    choose_still(page, still)
    tap_joints(page, still, "Hip", "Ankle")
    page.get_by_role("link", name="← Back").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Ada")
    page.go_back()
    expect(page.get_by_label("Choose a picture", exact=True)).to_be_visible()
    expect(page.locator("[data-still-work]")).to_be_hidden()
    page.get_by_label("Choose a picture", exact=True).set_input_files([])
    expect(page.locator("[data-still-work]")).to_be_hidden()


# ---- Reading ----------------------------------------------------------------------------------------------------
def test_joints_are_tapped_moved_and_looked_at_from_nearer_by(
    open_page: Open, coach: Membership, attempt: Attempt
) -> None:
    still, page = Still(legs_degrees=62), open_page(TABLET, coach)
    page.goto(reverse("attempt_angle", args=[attempt.id]))
    choose_still(page, still)
    use = page.locator("[data-still-use]")
    expect(use).to_be_disabled()
    tap(page, still, still.joints["Hip"])
    tap(page, still, (still.joints["Hip"][0] + 20, still.joints["Hip"][1]))
    expect(page.locator("[data-still-say]")).to_contain_text("Too near to be read: hip and ankle. Zoom in")
    expect(use).to_be_disabled()
    tap(page, still, still.joints["Ankle"])
    assert abs(value(page) - 62) <= 1
    low, high = interval(page)
    assert low < 62 < high
    page.get_by_text("Where from?").tap()
    where = page.locator(".figure-where")
    for words in ("Picture", "1200 × 1600 px", "Hip to ankle", "Plane geometry, worked out by this project", "5 px"):
        expect(where).to_contain_text(words)

    # A tap near to the hip takes it in hand; from nearer by the arrows place it with less doubt.
    tap(page, still, still.joints["Hip"])
    hip = page.get_by_role("button", name="Hip", exact=True)
    expect(hip).to_have_attribute("aria-pressed", "true")
    for name in ("Hip", "Ankle"):
        page.get_by_role("button", name=name, exact=True).tap()
        for _ in range(2):
            page.get_by_role("button", name="Zoom in").tap()
        page.get_by_role("button", name="Left", exact=True).tap()
        page.get_by_role("button", name="Right", exact=True).tap()
        for _ in range(2):
            page.get_by_role("button", name="Zoom out").tap()
    nearer = interval(page)
    assert nearer[1] - nearer[0] < (high - low) / 2
    assert abs(value(page) - 62) <= 1

    # Another angle of the same figure keeps the joints that both have.
    page.get_by_text("Which angle: Legs from straight down").tap()
    page.get_by_text("Hip angle").tap()
    expect(page.get_by_text("Which angle: Hip angle")).to_be_visible()
    for name in ("Shoulder", "Knee"):
        page.get_by_role("button", name=name, exact=True).tap()
        tap(page, still, still.joints[name])
    assert abs(value(page) - (180 - 62)) <= 1
    found = [*judged(page, "session")]  # with targets of 56 px, as on the board
    assert not found, "\n".join(found)


def test_an_angle_is_read_by_keyboard_alone(open_page: Open, coach: Membership, attempt: Attempt) -> None:
    page = open_page(LAPTOP, coach)
    page.goto(reverse("attempt_angle", args=[attempt.id]))
    choose_still(page, Still())
    canvas = page.locator(CANVAS)
    expect(canvas).to_be_focused()
    page.keyboard.press("ArrowLeft")  # the first point comes to the middle
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowLeft")  # and the second, from where it is led aside, to the level of the first
    for _ in range(12):
        page.keyboard.press("Shift+ArrowRight")
    assert value(page) == 90
    for _ in range(12):
        page.keyboard.press("Shift+ArrowDown")
    assert value(page) == 45
    page.keyboard.press("+")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("-")
    assert value(page) in {45, 46}
    page.locator("[data-still-use]").press("Enter")
    expect(page.locator("#angle_angle")).to_have_value(str(value(page)))


def test_what_is_no_picture_is_said_and_another_may_be_chosen(
    open_page: Open, coach: Membership, attempt: Attempt
) -> None:
    page = open_page(PHONE, coach)
    page.goto(reverse("attempt_angle", args=[attempt.id]))
    trouble = page.locator("[data-still-trouble]")
    for file, words in ((b"", "This file is empty."), (b"not a picture at all", "cannot be read as a picture")):
        choose(page, file)
        expect(trouble).to_contain_text(words)
        expect(page.locator("[data-still-work]")).to_be_hidden()
    choose_still(page, Still())
    expect(trouble).to_be_hidden()
    page.get_by_role("button", name="Another picture").tap()
    expect(page.get_by_label("Take a picture", exact=True)).to_be_focused()
    expect(page.locator("[data-still-work]")).to_be_hidden()


JPEG = """() => {
  const canvas = Object.assign(document.createElement("canvas"), { width: 400, height: 200 });
  canvas.getContext("2d").fillRect(0, 0, 100, 200);
  return canvas.toDataURL("image/jpeg").split(",")[1];
}"""


def test_a_picture_stands_upright_as_its_camera_says(open_page: Open, coach: Membership, attempt: Attempt) -> None:
    page = open_page(TABLET, coach)
    page.goto(reverse("attempt_angle", args=[attempt.id]))
    lying = b64decode(page.evaluate(JPEG))
    for orientation, seen in ((1, "400 × 200 px"), (6, "200 × 400 px"), (3, "400 × 200 px")):
        choose(page, turned_by_camera(lying, orientation, "canary-in-exif"), "still.jpg", "image/jpeg")
        canvas = page.locator(CANVAS)
        expect(canvas).to_be_visible()
        for x, y in ((100, 40), (300, 150)):
            canvas.tap(position={"x": x, "y": y})
            page.wait_for_timeout(PAUSE_MS)
        page.get_by_text("Where from?").tap()
        expect(page.locator(".figure-where")).to_contain_text(seen)
        page.get_by_text("Where from?").tap()
        page.get_by_role("button", name="Another picture").tap()


def test_without_script_the_number_is_typed(open_page: Open, coach: Membership, attempt: Attempt) -> None:
    page = open_page(PHONE, coach, java_script_enabled=False)
    page.goto(reverse("attempt_angle", args=[attempt.id]))
    expect(page.get_by_text("needs this page's script")).to_be_visible()
    expect(page.get_by_label("Choose a picture", exact=True)).to_be_hidden()
    page.get_by_label(f"Angle in degrees: {WORDS}").fill("85")
    page.get_by_role("button", name="Store the angle").tap()
    expect(page.get_by_text("Stored: 85°.")).to_be_visible()
    assert Attempt.objects.get(void=None).angle_degrees == 85


# ---- On the class page ------------------------------------------------------------------------------------------
def test_the_class_page_takes_the_number_for_a_new_try_and_for_the_stored_one(
    open_page: Open, coach: Membership, session: TrainingSession
) -> None:
    still, page = Still(), open_page(TABLET, coach)
    page.goto(reverse("session", args=[session.id]))
    page.locator(".tile").get_by_role("link").first.tap()
    expect(page.locator("#panel-title")).to_be_focused()
    page.get_by_label("Seconds", exact=True).fill("6.1")
    read_still(page, still)
    expect(page.locator("#log_angle")).to_have_value("80")
    expect(page.get_by_label("Seconds", exact=True)).to_have_value("6.1")
    page.wait_for_timeout(PAUSE_MS)
    page.get_by_role("button", name="Clean", exact=True).tap()
    expect(page.locator(".logged")).to_contain_text("Stored: 6.1 s at 80°")

    lower = Still(legs_degrees=70)
    page.locator(".logged").get_by_text("Undo").tap()
    read_still(page, lower, within=".logged")
    expect(page.locator("#mend-angle")).to_have_value("70")
    page.get_by_role("button", name="Set the angle").tap()
    expect(page.locator(".logged")).to_contain_text("Stored: 6.1 s at 70°")
    assert [row.angle_degrees for row in Attempt.objects.order_by("recorded_at")] == [80, 70]
    assert AttemptVoid.objects.count() == 1


def read_still(page: Page, still: Still, within: str = "#attempt") -> None:
    page.locator(within).get_by_role("button", name="Read it on a still").tap()
    dialog = page.get_by_role("dialog", name="Angle on a still")
    expect(dialog).to_be_visible()
    choose_still(page, still)
    tap_joints(page, still, "Hip", "Ankle")
    dialog.get_by_role("button", name=f"Use {round(still.legs_degrees)}°").tap()
    expect(dialog).to_be_hidden()
    expect(page.locator("[data-still-work]")).to_be_hidden()  # and the picture went with it


def test_an_angle_is_never_given_to_another_try(open_page: Open, coach: Membership, session: TrainingSession) -> None:
    still, page = Still(), open_page(TABLET, coach)
    page.goto(reverse("session", args=[session.id]))
    page.locator(".tile").get_by_role("link").first.tap()
    expect(page.locator("#panel-title")).to_be_focused()
    page.locator("#attempt").get_by_role("button", name="Read it on a still").tap()
    choose_still(page, still)
    tap_joints(page, still, "Hip", "Ankle")
    # As when the answer to the try before comes late: the form is that of the next one.
    page.evaluate("document.querySelector('#attempt [name=id]').value = '01890000-0000-7000-8000-000000000000'")
    page.get_by_role("button", name="Use 80°").tap()
    expect(page.locator("#messages")).to_contain_text("The angle that was read is 80°")
    expect(page.locator("#log_angle")).to_have_value("")


def test_the_dialog_keeps_nobody_out(open_page: Open, coach: Membership, session: TrainingSession) -> None:
    still, page = Still(), open_page(TABLET, coach)
    page.goto(reverse("session", args=[session.id]))
    page.locator(".tile").get_by_role("link").first.tap()
    expect(page.locator("#panel-title")).to_be_focused()
    page.locator("#attempt").get_by_role("button", name="Read it on a still").tap()
    found = [*judged(page, "session")]
    page.set_viewport_size(PHONE["viewport"])
    choose_still(page, still)
    tap_joints(page, still, "Hip", "Ankle")
    found += judged(page, "session")
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_be_hidden()
    assert not found, "\n".join(found)
