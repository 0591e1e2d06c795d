"""An athlete's page on their own phone: short until a part is unfolded, readable without script, and printed whole."""

import io
from collections.abc import Callable
from unicodedata import normalize

import pypdf
import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Athlete, Membership
from tests.browser import inspection
from tests.browser.devices import LAPTOP, PHONE
from tests.factories.skills import decide, library, log, pass_step

pytestmark = pytest.mark.browser

Open = Callable[..., Page]
PARTS = (
    "What a clean try shows",
    "Curve and trend",
    "The last tries",
    "The hold to expect",
    "Sign-offs",
    "The path so far",
)


@pytest.fixture
def ada(coach: Membership, athlete: Athlete, athlete_member: Membership) -> Membership:
    """Ada's log-in: some weeks on the second step, one entry of her own."""
    library(athlete.gym)
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance")
    for day in range(12, 0, -2):
        log(coach, athlete, "pullover-2", 4.9 - day / 5, days_ago=day / 10, faults=("knees-give",) if day == 6 else ())
    log(athlete_member, athlete, "pullover-2", 4.0, source="own")
    return athlete_member


def words_of(content: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    read = " ".join(page.extract_text() for page in pages)
    return " ".join(normalize("NFKC", read).split())  # the browser's font joins letters, as in "first"


def test_a_phone_shows_what_is_next_and_the_rest_at_a_tap(open_page: Open, ada: Membership) -> None:
    page = open_page(PHONE, ada)
    page.goto(reverse("my_progress"))
    expect(page.get_by_role("heading", name="Next step: 2 Straight legs up")).to_be_in_viewport()
    expect(page.get_by_role("heading", name="What is missing")).to_be_in_viewport()
    path = page.get_by_role("list", name="The path so far")
    expect(path).to_be_hidden()
    page.locator("summary", has_text="The path so far").tap()
    expect(path).to_be_visible()
    tries = page.locator("#tries")
    if not tries.locator("svg").is_visible():
        tries.locator("summary", has_text="The last tries").tap()
    expect(tries.get_by_role("img", name="Last holds: 2 Straight legs up")).to_be_visible()
    tries.locator("summary", has_text="The same as a table").tap()
    expect(tries.get_by_role("cell", name="clean, own entry")).to_be_visible()
    assert inspection.too_wide(page) == []


def test_the_sheet_is_a_tap_away(open_page: Open, ada: Membership) -> None:
    page = open_page(PHONE, ada)
    page.goto(reverse("my_progress"))
    address = page.get_by_role("button", name="As a PDF to print").get_attribute("href")
    answer = page.request.get(address or "")
    assert answer.headers["content-type"] == "application/pdf"
    assert "Next step: 2 Straight legs up and held at the bar" in words_of(answer.body())


def test_everything_is_read_without_script(open_page: Open, ada: Membership) -> None:
    page = open_page(PHONE, ada, java_script_enabled=False)
    page.goto(reverse("my_progress"))
    for part in PARTS:
        folded = page.locator("details:not([open]) > summary", has_text=part)
        if folded.count():
            folded.tap()
    expect(page.locator("#trend")).to_contain_text("trend")
    expect(page.locator("#tries svg")).to_be_visible()
    expect(page.get_by_role("list", name="Sign-offs")).to_contain_text("May try it: passed, coach present")


def test_on_paper_the_folded_parts_stand_open(open_page: Open, ada: Membership) -> None:
    page = open_page(LAPTOP, ada)
    page.goto(reverse("my_progress"))
    printed = words_of(page.pdf(format="A4"))
    for words in (*PARTS, "May try it: passed, coach present", "Always open, passed", "Filled marks are clean tries"):
        assert words in printed, words
    assert "The PDF of this page names the sources of all figures" in printed
    for words in ("As a PDF to print", "Enter own practice", "Where from?"):
        assert words not in printed, words


def test_on_paper_the_page_takes_four_sheets_at_most(open_page: Open, ada: Membership) -> None:
    page = open_page(LAPTOP, ada)
    page.goto(reverse("my_progress"))
    assert len(pypdf.PdfReader(io.BytesIO(page.pdf(format="A4"))).pages) <= 4
