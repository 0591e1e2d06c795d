"""From an invitation to the first page of one's own, by hand, by keyboard and in print."""

import re
from collections.abc import Callable

import pytest
from django.core import mail
from playwright.sync_api import Locator, Page, expect

from athletes.models import Athlete, Membership
from athletes.services.invitations import MadeInvitation, invite_athlete, invite_guardian, invite_staff
from athletes.services.joining import letter_for
from tests.browser.devices import LAPTOP, PHONE, TABLET
from tests.browser.hands import Hands
from tests.browser.test_accessible import judged, looked_at
from tests.factories.athletes import PASSWORD

pytestmark = pytest.mark.browser

Open = Callable[..., Page]


@pytest.fixture
def made(owner: Membership) -> MadeInvitation:
    rights = frozenset({"may_log"})
    return invite_staff(by=owner, full_name="Nils Aho", email="nils@harbour.example", role="coach", rights=rights)


def hold(page: Page, made: MadeInvitation) -> Locator:
    """Type the code, and stand on the page that it leads to."""
    page.goto("/join/")
    page.get_by_label("Code", exact=True).fill(made.code.lower().replace("-", " "))
    page.get_by_role("button", name="Go on").click()
    expect(page).to_have_url(re.compile("/join/accept/$"))
    return page.get_by_role("main")


def test_an_owner_invites_and_a_coach_joins_by_the_code(open_page: Open, owner: Membership) -> None:
    inviting = Hands(open_page(LAPTOP, owner), touches=False)
    inviting.page.goto("/gym/staff/")
    inviting.tap("Invite a coach")
    inviting.type("Name", "Nils Aho")
    inviting.tap("Invite them")
    code = inviting.page.locator("code.key").inner_text()
    assert mail.outbox == []
    joining = Hands(open_page(PHONE))
    joining.page.goto("/join/")
    joining.type("Code", code)
    joining.tap("Go on")
    joining.type("Your e-mail address", "nils@harbour.example")
    joining.type("Password", PASSWORD)
    joining.tap("Join with a new account")
    joining.type("E-mail address", "nils@harbour.example")
    joining.type("Password", PASSWORD)
    joining.tap("Sign in")
    expect(joining.page.get_by_role("heading", name="Today", level=1)).to_be_visible()
    inviting.page.goto("/gym/staff/")
    expect(inviting.page.get_by_role("listitem").filter(has_text="Nils Aho")).to_contain_text("May log attempts")
    expect(inviting.page.get_by_role("heading", name="Invited")).to_have_count(0)


def test_the_link_of_a_mail_leads_in_and_stays_in_no_address(open_page: Open, owner: Membership) -> None:
    inviting = Hands(open_page(LAPTOP, owner), touches=False)
    inviting.page.goto("/gym/staff/invite/")
    inviting.type("Name", "Ines Roth")
    inviting.type("E-mail address (optional)", "ines@harbour.example")
    inviting.tap("owner, who may do everything in this gym")
    inviting.tap("Invite them")
    expect(inviting.page.get_by_role("main")).to_contain_text("It was also sent to ines@harbour.example")
    (link,) = re.findall(r"(http\S+/join/\S{20,})", str(mail.outbox[0].body))
    joining = Hands(open_page(PHONE))
    joining.page.goto(link)
    expect(joining.page).to_have_url(re.compile("/join/accept/$"))
    joining.type("Password", PASSWORD)
    joining.tap("Join with a new account")
    expect(joining.page.get_by_role("navigation", name="Main")).to_contain_text("Gym")


def test_a_coach_of_another_gym_joins_and_acts_in_the_one_joined(
    open_page: Open, other_coach: Membership, made: MadeInvitation
) -> None:
    page = open_page(TABLET, other_coach)
    hold(page, made)
    page.get_by_role("button", name="Join Harbour Hall as coach, with the account otis@uptown.example").tap()
    expect(page.locator(".head-gym")).to_have_text("Harbour Hall")


def test_the_ways_in_keep_nobody_out(
    open_page: Open, coach: Membership, other_coach: Membership, minor: Athlete, made: MadeInvitation
) -> None:
    anybody, somebody = open_page(TABLET), open_page(TABLET, other_coach)
    by_mail = f"/join/{letter_for(made.invitation, 'nils@harbour.example')}/"
    known = f"/join/{letter_for(made.invitation, other_coach.account.email)}/"
    minors = invite_guardian(by=coach, athlete=minor, full_name="Gus Okafor", email="")
    found: list[str] = []
    for page, name, one in ((anybody, "code", made), (anybody, "guardian", minors), (somebody, "account", made)):
        hold(page, one)
        found += judged(page, f"join_accept by {name}")
        page.set_viewport_size(TABLET["viewport"])
    for name, address in (("mail", by_mail), ("mail of an account", known)):
        found += looked_at(open_page(TABLET), f"join_accept by {name}", address)
    assert not found, "\n".join(found)


def test_what_the_ways_in_refuse_keeps_nobody_out(open_page: Open, made: MadeInvitation) -> None:
    page = open_page(TABLET)
    page.goto("/join/")
    page.get_by_label("Code", exact=True).fill("ABCD-EFGH-JKMN")
    page.get_by_role("button", name="Go on").tap()
    expect(page.get_by_role("alert")).to_contain_text("This code opens nothing")
    found = [*judged(page, "join refused"), *looked_at(page, "join by a bad link", "/join/ABCDEFGHJKMN/")]
    hold(page, made)
    page.get_by_label("Password", exact=True).fill("short")
    page.get_by_role("button", name="Join with a new account").click()
    expect(page.get_by_role("alert")).to_be_visible()
    found += judged(page, "join_accept refused")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_sheet_keeps_nobody_out_and_fits_on_one_page(
    open_page: Open, coach: Membership, athlete: Athlete, size: str
) -> None:
    page = open_page(TABLET, coach)
    page.goto(f"/athletes/{athlete.id}/login/")
    page.get_by_label("E-mail address").fill("ada-with-a-long-address@practising-at-home.example")
    page.get_by_role("button", name="Invite them").tap()
    expect(page.locator("svg.qr")).to_be_visible()
    found = [*judged(page, "invitation_made")]
    assert not found, "\n".join(found)
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=size))) == 1
    page.emulate_media(media="print")
    expect(page.locator("code.key")).to_be_visible()
    expect(page.get_by_text("It was also sent to")).to_be_hidden()


def test_an_invitation_is_renewed_and_taken_back_from_the_athletes_page(
    open_page: Open, coach: Membership, athlete: Athlete
) -> None:
    first = invite_athlete(by=coach, athlete=athlete, email="").code
    hands = Hands(open_page(TABLET, coach))
    hands.page.goto(f"/athletes/{athlete.id}/change/")
    hands.tap(hands.page.get_by_role("button", name="New code"))
    assert hands.page.locator("code.key").inner_text() != first
    hands.tap("Back to number 1")
    hands.tap(hands.page.get_by_role("button", name="Take back"))
    expect(hands.page.locator("#messages")).to_contain_text("The invitation does not work any more.")
    expect(hands.page.get_by_role("heading", name="Invited")).to_have_count(0)
