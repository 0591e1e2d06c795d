"""An athlete's progress as a PDF: what it says, whom it names, where its code leads, who gets it."""

import io
import re
import sys
from datetime import UTC, datetime, timedelta

import pypdf
import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import BodyMeasure, Gym
from athletes.services.private_links import make_link
from gymtrack.lib.qr import qr_svg
from skills.services.cautions import enter_caution
from tests.factories.athletes import make_athlete, make_consent, make_guardian, make_login
from tests.factories.bars import make_high_bar
from tests.factories.skills import decide, library, log, pass_step
from tests.helpers.qr import read_back

NOON = datetime(2026, 11, 3, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _library(gym):
    library(gym)


@pytest.fixture
def sheet_of(client_of):
    """The sheet of an athlete as somebody gets it: its text on one line."""

    def read(who, athlete) -> str:
        return text_of(client_of(who).get(reverse("progress_pdf", args=[athlete.id])))

    return read


@pytest.fixture
def by_link(coach, athlete):
    """A browser that looks at Ada's page by a private link."""
    make_consent(athlete, by=coach, kind="link")
    visitor = Client()
    visitor.get(reverse("link_open", args=[make_link(by=coach, athlete=athlete).token]))
    return visitor


def text_of(answer) -> str:
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


# ---- What it says ------------------------------------------------------------------------------------------------


def test_the_sheet_says_what_the_page_says(sheet_of, coach, athlete, athlete_member):
    with time_machine.travel(NOON, tick=False):
        pass_step(coach, athlete, "pullover-3")
        decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
        log(coach, athlete, "pullover-3a", 2.4, faults=frozenset({"tuck-opens"}))
        told = sheet_of(athlete_member, athlete)
    assert f"Progress of {athlete.number} Ada Lindqvist Harbour Hall As of 3 November 2026." in told
    assert "Next step: 2 Straight legs up and held at the bar" in told
    assert "Clearances held • Bar pullover, 3a Tucked inverted hang with the floor in reach: spotted" in told
    assert "may try it: passed, spotted Cleo Adeyemi" in told
    assert "The path so far" in told
    assert "Local codes, the equipment maker's instructions and licensed professionals come first." in told


def test_the_last_tries_stand_as_a_picture_with_words_and_as_a_table(sheet_of, coach, athlete, athlete_member):
    log(coach, athlete, "pullover-1", 3.0, days_ago=1, faults=frozenset({"pulls-with-lats"}))
    log(athlete_member, athlete, "pullover-1", 4.9, source="own")
    told = sheet_of(athlete_member, athlete)
    assert "4.9 1 clean, own entry" in told
    assert "3.0 1 Pulls with the lats" in told


def test_a_caution_stands_at_the_top(sheet_of, coach, athlete, athlete_member):
    enter_caution(
        by=coach,
        athlete=athlete,
        loads=frozenset({"hanging"}),
        from_at=timezone.now(),
        until_at=datetime(2099, 3, 1, 12, tzinfo=UTC),
        reason="sore hands",
    )
    told = sheet_of(athlete_member, athlete)
    assert told.index("Paused by a caution (no hanging) until 1 Mar 2099.") < told.index("Next step")
    assert "Paused: ask a coach first. Where coach and caution allow it, and nothing hurts: Tuck on the back." in told
    assert "sore hands" not in told


def test_each_bar_is_named_beside_its_figures(sheet_of, coach, athlete, athlete_member):
    make_high_bar(athlete.gym, "Bar by the window")
    BodyMeasure.objects.create(gym=athlete.gym, athlete=athlete, measured_on=timezone.localdate(), stature_m="1.72")
    told = sheet_of(athlete_member, athlete)
    assert "Set-up of the bar for this body" in told
    assert "Bar by the window, hang with straight arms: " in told
    assert "Not known of Bar by the window: Nobody has measured " in told


def test_a_mass_is_nowhere_on_it(sheet_of, coach, athlete, athlete_member):
    BodyMeasure.objects.create(
        gym=athlete.gym, athlete=athlete, measured_on=timezone.localdate(), stature_m="1.72", mass_kg="63.45"
    )
    for who in (coach, athlete_member):
        assert not re.search(r"63[.,]4|\bkg\b|N·m", sheet_of(who, athlete))


# ---- Whom it names -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Żółć Gęślą-Jaźń", "Ольга Щукина", "Νίκος Ώρας", "長谷川 みちこ", "김철수"])
def test_a_name_in_any_script_is_printed(sheet_of, gym, coach, name):
    assert f"Progress of 9 {name}" in sheet_of(coach, make_athlete(gym, name, number=9))


def test_a_minor_stands_by_initials_until_a_guardian_agrees_to_more(sheet_of, coach, guardian, minor):
    for who in (coach, guardian):
        told = sheet_of(who, minor)
        assert f"Progress of {minor.number} M. O." in told
        assert "Okafor" not in told
    make_consent(minor, by=coach, kind="board", extent="full_name")
    assert "Okafor" not in sheet_of(guardian, minor)  # on the board, which is wiped, and not on paper
    make_consent(minor, by=coach, kind="reports")
    assert "Mia Okafor" in sheet_of(guardian, minor)


def test_who_does_not_agree_to_stand_in_print_by_name_stands_by_initials(sheet_of, coach, athlete):
    assert "Ada Lindqvist" in sheet_of(coach, athlete)
    make_consent(athlete, by=coach, kind="reports", given=False)
    told = sheet_of(coach, athlete)
    assert f"Progress of {athlete.number} A. L." in told
    assert "Lindqvist" not in told


def test_who_stands_on_the_board_by_number_alone_does_so_on_paper(sheet_of, coach, athlete):
    make_consent(athlete, by=coach, kind="board", extent="number")
    assert f"Progress of number {athlete.number}" in sheet_of(coach, athlete)


def test_by_a_private_link_the_number_stands_alone(by_link, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance")
    told = text_of(by_link.get(reverse("linked_pdf")))
    assert f"Progress of number {athlete.number}" in told
    assert "may try it: passed, coach present a coach" in told
    assert not re.search("Lindqvist|Adeyemi", told)


# ---- Where its code leads ----------------------------------------------------------------------------------------


def code_on(monkeypatch, visitor, address) -> str:
    """Read back the code that was drawn for the sheet."""
    drawn = []

    def draw(text: str) -> str:
        drawn.append(qr_svg(text))
        return drawn[-1]

    monkeypatch.setattr("skills.showing.sheet.qr_svg", draw)
    assert visitor.get(address).status_code == 200
    return read_back(drawn[-1])


def test_the_code_leads_to_the_page_behind_its_log_in(monkeypatch, client_of, athlete_member, athlete):
    visitor = client_of(athlete_member)
    code = code_on(monkeypatch, visitor, reverse("progress_pdf", args=[athlete.id]))
    assert code == f"http://testserver{reverse('progress_of', args=[athlete.id])}"
    assert visitor.get(code).status_code == 200
    assert Client().get(code)["Location"].startswith(reverse("account_login"))


def test_the_code_of_a_private_link_holds_no_token(monkeypatch, by_link):
    code = code_on(monkeypatch, by_link, reverse("linked_pdf"))
    assert code == f"http://testserver{reverse('linked')}"
    assert by_link.get(code).status_code == 200
    assert Client().get(code)["Location"].startswith(reverse("account_login"))


# ---- The file ----------------------------------------------------------------------------------------------------


def test_equal_progress_makes_equal_bytes_and_another_day_others(client_of, coach, athlete, athlete_member):
    with time_machine.travel(NOON, tick=False) as clock:
        log(coach, athlete, "pullover-1", 3.0)
        visitor, address = client_of(athlete_member), reverse("progress_pdf", args=[athlete.id])
        one, again = visitor.get(address).content, visitor.get(address).content
        clock.shift(timedelta(days=1))
        assert one == again
        assert visitor.get(address).content != one


@pytest.mark.parametrize(("units", "inches"), [("metric", (8.27, 11.69)), ("imperial", (8.5, 11))])
def test_the_sheet_is_of_the_paper_that_the_gym_has(client_of, athlete_member, athlete, units, inches):
    Gym.objects.filter(pk=athlete.gym_id).update(units=units)
    answer = client_of(athlete_member).get(reverse("progress_pdf", args=[athlete.id]))
    box = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].mediabox
    assert (round(float(box.width) / 72, 2), round(float(box.height) / 72, 2)) == inches


def test_the_file_is_a_pdf_that_nobody_keeps(client_of, athlete_member, athlete):
    answer = client_of(athlete_member).get(reverse("progress_pdf", args=[athlete.id]))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    assert answer["Content-Disposition"] == f'inline; filename="progress-{athlete.number}.pdf"'
    assert "Lindqvist" not in answer["Content-Disposition"]


def test_what_no_font_has_is_said(sheet_of, gym, coach):
    told = sheet_of(coach, make_athlete(gym, "Ama \u13a0\u13b3", number=9))
    assert "Progress of 9 Ama \ufffd\ufffd" in told
    assert "Signs that the fonts here do not have stand as \ufffd: U+13A0, U+13B3." in told


def test_pages_do_not_load_the_typesetter(client_of, athlete_member, monkeypatch):
    for module in [name for name in sys.modules if name.split(".")[0] == "typst"]:
        monkeypatch.delitem(sys.modules, module)
    assert client_of(athlete_member).get("/progress/").status_code == 200
    assert "typst" not in sys.modules


# ---- Access ------------------------------------------------------------------------------------------------------


def test_each_gets_it_of_whom_they_see(  # noqa: PLR0917 (the cast)
    client_of, coach, reader, athlete_member, guardian, athlete, minor, other_gym
):
    def status(who, whose) -> int:
        return client_of(who).get(reverse("progress_pdf", args=[whose.id])).status_code

    assert [status(who, athlete) for who in (coach, reader, athlete_member, guardian)] == [200, 200, 200, 404]
    assert [status(who, minor) for who in (coach, reader, athlete_member, guardian)] == [200, 200, 404, 200]
    theirs = make_athlete(other_gym, "Noor Haddad")
    assert [status(who, athlete) for who in (make_login(theirs), make_guardian(theirs, "Sami Haddad"))] == [404, 404]


def test_nobody_gets_it_without_signing_in(athlete):
    for address in (reverse("progress_pdf", args=[athlete.id]), reverse("linked_pdf")):
        assert Client().get(address)["Location"].startswith(reverse("account_login"))


def test_members_are_led_from_the_links_file_to_their_own_page(client_of, athlete_member):
    assert client_of(athlete_member).get(reverse("linked_pdf"))["Location"] == reverse("my_progress")
