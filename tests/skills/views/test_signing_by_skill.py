"""Pages and devices ask for the right by skill, and say who has it."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import RightsChange
from athletes.services.staff import change_rights
from skills.models import SignOff
from tests.factories.athletes import make_certificate, make_member
from tests.factories.skills import library, pass_step, start_class, step_of
from tests.helpers.api import api_of, places
from tests.helpers.floor import enrolled, held
from tests.skills.season import at, on, play

RIGHTS = frozenset({"may_log", "may_sign_off"})
NOT_THIS = "You may not sign off steps of this skill in this gym; the right that you hold is for: Wall handstand."


def text_of(response) -> str:
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))
    return words.replace(" ,", ",").replace(" .", ".").replace("&#x27;", "'")


@pytest.fixture
def waiting(owner, coach, athlete):
    """Ada waits at the entrance of the first inverted step; Cleo signs off the wall handstand alone."""
    library(owner.gym, owner)
    pass_step(coach, athlete, "pullover-3")
    change_rights(by=owner, coach=coach, rights=RIGHTS, sign_off_skills=["wall-handstand"])
    return f"/sign-offs/{athlete.id}/{step_of(athlete.gym, 'pullover-3a').id}/entrance/"


def test_the_queue_says_who_may_decide_what_one_may_not(client_of, owner, coach, coach_two, waiting):
    (row,) = client_of(coach).get("/sign-offs/").context["rows"]
    assert (row["is_mine"], row["signers"]) == (False, ["Olga Brandt"])
    assert "decides: Olga Brandt" in text_of(client_of(coach).get("/sign-offs/"))
    (row,) = client_of(owner).get("/sign-offs/").context["rows"]
    assert row["is_mine"]
    assert "decides:" not in text_of(client_of(owner).get("/sign-offs/"))
    change_rights(by=owner, coach=coach_two, rights=RIGHTS, sign_off_skills=["bar-pullover", "l-hold"])
    assert client_of(coach).get("/sign-offs/").context["rows"][0]["signers"] == ["Olga Brandt", "Timo Laine"]


def test_what_one_may_decide_comes_first(client_of, owner, coach, minor, waiting):
    pass_step(owner, minor, "handstand-1")
    rows = client_of(coach).get("/sign-offs/").context["rows"]
    assert [row["is_mine"] for row in rows] == sorted((row["is_mine"] for row in rows), reverse=True)
    assert {row["is_mine"] for row in rows} == {True, False}


def test_the_page_of_a_gate_shows_no_form_and_a_post_is_refused_in_words(client_of, coach, waiting):
    client, before = client_of(coach), SignOff.objects.count()
    assert client.get(waiting).context["form"] is None
    assert NOT_THIS in text_of(client.get(waiting))
    refused = client.post(waiting, {"decision": "passed", "clearance": "spotted"})
    assert refused.status_code == 403
    assert NOT_THIS in text_of(refused)
    assert SignOff.objects.count() == before


def test_an_api_key_has_the_right_of_its_coach_by_skill(owner, coach, athlete, waiting):
    body = {"athlete": str(athlete.id), "step": "pullover-3a", "gate": "entrance", "decision": "passed"}
    refused = places(api_of(coach).post("sign-offs/", body))
    assert (refused["decision"], "clearance" in refused) == (NOT_THIS, True)
    change_rights(by=owner, coach=coach, rights=RIGHTS, sign_off_skills=["bar-pullover"])
    refused = places(api_of(coach).post("sign-offs/", body))
    assert ("decision" in refused, "clearance" in refused) == (False, True)


def test_today_parts_what_waits_for_oneself_from_what_waits_for_others(client_of, owner, coach, waiting):
    context = client_of(coach).get("/today/").context
    assert (context["waiting"], context["waiting_others"]) == ([], 1)
    assert "Nothing to sign off 1 waits for another coach" in text_of(client_of(coach).get("/today/"))
    context = client_of(owner).get("/today/").context
    assert (len(context["waiting"]), context["waiting_others"]) == (1, 0)


def test_a_tablet_and_a_class_offer_closed_steps_of_these_skills_alone(client_of, owner, coach, athlete, waiting):
    device = enrolled(owner)
    held(device, coach)
    steps = device.by(coach).get("today/").json()["steps"]
    assert {step["skill"] for step in steps if step["may_sign_off"]} == {"Wall handstand"}
    session = start_class(coach, athlete)
    panel = client_of(coach).get(f"/sessions/{session.id}/athletes/{athlete.id}/")
    assert [skill for skill, _ in panel.context["closed_groups"]] == ["Wall handstand"]


def test_a_tablet_offers_nothing_closed_once_a_certificate_has_lapsed(owner, coach, waiting):
    make_certificate(coach, by=owner, valid_until=timezone.localdate() - timedelta(days=2))
    device = enrolled(owner)
    held(device, coach)
    day = device.by(coach).get("today/").json()
    assert not day["coach"]["may_sign_off"]
    assert not any(step["may_sign_off"] for step in day["steps"])


def test_a_certificate_that_ends_stands_on_the_first_page_of_who_holds_it_and_of_the_owner(
    client_of, owner, coach, coach_two
):
    last = timezone.localdate() + timedelta(days=9)
    make_certificate(coach, by=owner, kind="first_aid", valid_until=last)
    make_certificate(coach, by=owner, kind="safeguarding", valid_until=last + timedelta(days=90))
    told = f"First aid: good until {last.day} {last:%B %Y}, which is soon."
    assert client_of(coach).get("/today/").context["certificates"] == [("", told)]
    assert client_of(owner).get("/today/").context["certificates"] == [("Cleo Adeyemi", told)]
    assert client_of(coach_two).get("/today/").context["certificates"] == []
    assert f"Cleo Adeyemi : {told} Staff and certificates" in text_of(client_of(owner).get("/today/"))


def test_a_proof_tells_for_which_skills_the_right_held_when_it_was_used(client_of, owner, coach, athlete, gym):
    """Rights that were given for two skills before the season, and for every one since the night before the 2nd."""
    with at(on(1, 8)):
        given = {"gym": gym, "membership": coach, "rights": sorted(RIGHTS), "recorded_at": timezone.now()}
        RightsChange.objects.create(**given, sign_off_skills=["bar-pullover", "l-hold"], happened_at=timezone.now())
    RightsChange.objects.create(**given, sign_off_skills=None, happened_at=on(2, 1))
    play(owner, coach, athlete)
    page = client_of(coach).get(f"/athletes/{athlete.id}/proof/2026-11-03/")
    rights = {line["on"]: line["rights"] for line in page.context["staff"] if line["name"] == "Cleo Adeyemi"}
    assert rights == {"": "may log, sign off", "1 Nov 2026": "may log, sign off (Bar pullover, L-hold only)"}


def test_an_owner_is_no_coach_with_a_limit(client_of, gym, owner, athlete):
    library(gym, owner)
    second = make_member(gym, owner.role, "Ines Roth")
    pass_step(owner, athlete, "pullover-3")
    (row,) = client_of(second).get("/sign-offs/").context["rows"]
    assert (row["is_mine"], row["signers"]) == (True, ["Olga Brandt", "Ines Roth"])
