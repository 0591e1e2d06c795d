"""The inspection finds what it is there to find."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser import inspection
from tests.browser.devices import PHONE

pytestmark = pytest.mark.browser

PLANT = "(html) => document.querySelector('main').insertAdjacentHTML('beforeend', html)"
SENTENCE = "<p>Read the <a href='/'>rules</a> first.</p>"
LONE_LINK = "<p><a href='/'>Rules</a></p>"
PLANT_WIDE = "(selector) => { document.querySelector(selector).style.width = '600px' }"


@pytest.fixture
def page(open_page: Callable[..., Page], db: None) -> Page:
    page = open_page(PHONE)
    page.goto("/account/sign-in/")
    return page


def test_nothing_is_found_on_the_bare_page(page: Page) -> None:
    assert [*inspection.axe_findings(page), *inspection.small_targets(page), *inspection.too_wide(page)] == []


def test_axe_finds_an_image_without_words_and_a_field_without_label(page: Page) -> None:
    page.evaluate(PLANT, "<img src='/static/img/mark.svg'><input type='text'>")
    assert [finding.split(":")[0] for finding in inspection.axe_findings(page)] == ["image-alt", "label"]


def test_a_lone_link_is_a_target_and_one_in_a_sentence_is_not(page: Page) -> None:
    page.evaluate(PLANT, SENTENCE)
    assert inspection.small_targets(page) == []
    page.evaluate(PLANT, LONE_LINK)
    [finding] = inspection.small_targets(page)
    assert finding.startswith("a “Rules” is ")


def test_a_tick_is_as_large_as_its_label(page: Page) -> None:
    page.evaluate(PLANT, "<p class='check'><label><input type='checkbox'> Ticked</label></p>")
    assert inspection.small_targets(page) == []
    page.evaluate(PLANT, "<p><input type='checkbox' name='bare'></p>")
    [finding] = inspection.small_targets(page)
    assert finding.startswith("input “bare” is ")


def test_what_is_wider_than_the_screen_is_found_unless_it_scrolls_by_itself(page: Page) -> None:
    page.evaluate(PLANT, "<div class='scroll'><p class='scrolled'>Swing</p></div><p class='wide'>Swing</p>")
    page.evaluate(PLANT_WIDE, ".scrolled")
    assert inspection.too_wide(page) == []
    page.evaluate(PLANT_WIDE, ".wide")
    [finding] = inspection.too_wide(page)
    assert "p.wide ends at" in finding


def test_small_words_and_a_focus_without_a_ring_are_found(page: Page) -> None:
    assert inspection.small_words(page, "h1", 20) == []
    assert inspection.small_words(page, "h1", 200) != []
    page.get_by_label("E-mail address").focus()
    assert inspection.unseen_focus(page) == []
    page.evaluate("() => { Object.assign(document.activeElement.style, { outline: 'none', boxShadow: 'none' }) }")
    [finding] = inspection.unseen_focus(page)
    assert finding.startswith("input “login”")
