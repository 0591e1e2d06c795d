"""The watch over all browser tests sees what it is there to see."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.devices import LAPTOP

pytestmark = pytest.mark.browser

STYLE = (
    "() => { const style = document.createElement('style'); style.textContent = 'p {}'; document.head.append(style) }"
)
THROW = "() => new Promise((done) => setTimeout(() => { setTimeout(done); throw new Error('slipped') }))"
SAY = "() => console.error('chalk')"


@pytest.mark.parametrize(
    ("misdeed", "noted"),
    [
        (STYLE, "console: .*Content Security Policy"),
        (THROW, "uncaught: .*slipped"),
        (SAY, "console: chalk"),
    ],
    ids=["inline style", "uncaught error", "console error"],
)
def test_a_misdeed_is_noted(open_page, watch, owner, misdeed, noted):
    page = open_page(LAPTOP)
    page.goto("/account/sign-in/")
    page.evaluate(misdeed)
    found = [*watch.misdeeds]
    watch.misdeeds.clear()
    assert len(found) == 1
    assert re.search(noted, found[0])


def test_a_question_to_another_host_is_noted(open_page, watch, owner):
    page = open_page(LAPTOP)
    page.goto("about:blank")  # the site's own policy would stop it before it began
    page.evaluate("() => fetch('http://elsewhere.example/').catch(() => {})")
    found = [*watch.misdeeds]
    watch.misdeeds.clear()
    assert found[0] == "asked another host: http://elsewhere.example/"


def test_a_form_that_comes_back_is_no_misdeed(open_page, owner):
    page = open_page(LAPTOP)
    page.goto("/account/sign-in/")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("alert")).to_be_visible()
