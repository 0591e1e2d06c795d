import re

import pytest
from django.utils import timezone

from skills.models import Opening, SignOff
from skills.services.cautions import enter_caution
from tests.factories.holds import hold
from tests.factories.skills import days_before_now, decide, library, log, meet, pass_step, reach, step_of


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


@pytest.fixture
def client(client_of, coach):
    return client_of(coach)


def text_of(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def address(athlete, code="pullover-3a", gate="finish"):
    return f"/sign-offs/{athlete.id}/{step_of(athlete.gym, code).id}/{gate}/"


@pytest.fixture
def ready(coach, athlete):
    """Ada has met the criterion of 3a and waits for a coach."""
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    return athlete


def test_the_queue_names_who_step_gate_and_since_when(client, coach, ready, minor):
    pass_step(coach, minor, "pullover-3")
    rows = client.get("/sign-offs/").context["rows"]
    assert [(row["athlete"], row["gate_words"], row["put_off"]) for row in rows] == [
        (minor, "may try it", None),
        (ready, "has it", None),
    ]
    assert "Okafor" not in client.get("/sign-offs/").content.decode()


def test_a_not_yet_after_the_waiting_began_says_so_and_goes_to_the_end(client, coach, ready, minor):
    pass_step(coach, minor, "pullover-3")
    put_off = decide(coach, minor, "pullover-3a", "entrance", decision="not_yet", reason="Head first")
    rows = client.get("/sign-offs/").context["rows"]
    assert [(row["athlete"], row["put_off"]) for row in rows] == [(ready, None), (minor, put_off.happened_at)]
    assert "“not yet” on" in text_of(client.get("/sign-offs/"))


def test_the_queue_of_another_gym_is_its_own(client_of, other_coach, ready):
    assert client_of(other_coach).get("/sign-offs/").context["rows"] == []


def test_the_form_shows_evidence_rule_cautions_and_nothing_chosen(client, coach, ready, gym):
    unclean = log(coach, ready, "pullover-3a", 6, faults=("tuck-opens",))
    response = client.get(address(ready))
    attempts = response.context["attempts"]
    assert [row.counts for row in attempts] == [False, True, True, True]
    assert attempts[0].id == unclean.id
    assert attempts[0].quality == "Tuck opens upside down"
    assert response.context["rule"] == "three clean judged holds of 5 s or longer, on two days"
    assert step_of(gym, "pullover-3a").cautions[0] in response.content.decode()
    assert "checked" not in response.content.decode()
    assert [value for value, _ in response.context["form"].fields["decision"].choices] == ["passed", "not_yet"]


def test_a_pass_with_its_clearance_is_recorded_and_leads_back(client, coach, ready):
    response = client.post(address(ready), {"decision": "passed", "clearance": "spotted", "next": "/today/"})
    row = SignOff.objects.get(gate="finish", step__code="pullover-3a")
    assert (row.decision, row.clearance, row.signed_by, len(row.evidence)) == ("passed", "spotted", coach, 3)
    assert (response.status_code, response["Location"]) == (303, "/today/")


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example/x", ""])
def test_a_decision_leads_to_no_other_site(client, ready, elsewhere):
    entry = {"decision": "passed", "clearance": "present", "next": elsewhere}
    assert client.post(address(ready), entry)["Location"] == "/sign-offs/"


@pytest.mark.parametrize(
    ("entry", "field", "sentence"),
    [
        ({}, "decision", "Choose a decision."),
        ({"decision": "passed"}, "clearance", "Choose under what supervision"),
        ({"decision": "not_yet", "reason": " "}, "reason", "Give the reason in a few words"),
        ({"decision": "revoked", "reason": "x"}, "decision", "does not fit how the athlete stands now"),
    ],
)
def test_a_decision_that_is_not_whole_is_asked_back_with_what_was_typed(client, ready, entry, field, sentence):
    response = client.post(address(ready), {"next": "/today/", **entry})
    assert response.status_code == 422
    assert sentence in str(response.context["form"].errors[field])
    assert response.context["form"]["next"].value() == "/today/"
    assert response.context["form"]["decision"].value() == entry.get("decision")
    assert not SignOff.objects.filter(gate="finish", step__code="pullover-3a").exists()


def test_not_yet_keeps_its_reason_in_the_history(client, ready):
    client.post(address(ready), {"decision": "not_yet", "reason": "Let go with one hand"})
    decided = client.get(address(ready)).context["decisions"]
    assert [(row.decision, row.reason) for row in decided] == [("not yet", "Let go with one hand"), ("passed", "")]


def test_a_passed_step_may_be_revoked(client, coach, athlete):
    pass_step(coach, athlete, "pullover-3a")
    page = client.get(address(athlete))
    assert [code for code, _ in page.context["form"].fields["decision"].choices] == ["passed", "not_yet", "revoked"]
    client.post(address(athlete), {"decision": "revoked", "reason": "Lost the shape"})
    assert SignOff.objects.latest("happened_at").decision == "revoked"


def test_clearance_at_the_entrance_opens_the_step_on_the_evidence_of_those_before(client, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    page = client.get(address(athlete, gate="entrance"))
    assert page.context["required"] == [("3 Strict pull-up begun by the tuck", "passed")]
    assert sum(row.counts for row in page.context["attempts"]) == 3
    said = {"decision": "passed", "clearance": "spotted"}
    unread = client.post(address(athlete, gate="entrance"), said)
    assert unread.status_code == 422
    assert unread.context["form"].errors.keys() == {"risk_notes_read"}
    assert not Opening.objects.filter(step__code="pullover-3a").exists()
    client.post(address(athlete, gate="entrance"), {**said, "risk_notes_read": "on"})
    assert Opening.objects.filter(step__code="pullover-3a", athlete=athlete).exists()


def test_there_is_no_form_where_nothing_waits(client, coach, athlete):
    response = client.get(address(athlete, gate="entrance"))
    assert response.context["form"] is None
    assert "There is nothing to decide at this gate now." in text_of(response)


def test_a_decision_that_no_longer_fits_is_refused_in_words(client, athlete):
    entry = {"decision": "passed", "clearance": "alone"}
    response = client.post(address(athlete), entry)
    assert response.status_code == 422
    assert "does not fit how the athlete stands now" in text_of(response)
    assert not SignOff.objects.exists()


def test_a_caution_keeps_a_pass_from_being_recorded(client, coach, ready):
    enter_caution(
        by=coach, athlete=ready, loads=frozenset({"inversion"}), from_at=timezone.now(), until_at=None, reason=""
    )
    response = client.post(address(ready), {"decision": "passed", "clearance": "spotted"})
    assert response.status_code == 422
    assert "A caution forbids this step" in str(response.context["form"].errors["decision"])
    assert [row.loads for row in response.context["cautions"]] == ["no inversion"]


def test_a_coach_without_the_right_sees_the_evidence_and_no_form(client_of, coach_two, ready):
    client = client_of(coach_two)
    response = client.get(address(ready))
    assert len(response.context["attempts"]) == 3
    assert response.context["form"] is None
    refused = client.post(address(ready), {"decision": "passed", "clearance": "alone"})
    assert refused.status_code == 403
    assert not SignOff.objects.filter(gate="finish", step__code="pullover-3a").exists()


def test_an_unknown_gate_and_another_gyms_athlete_are_not_found(client, client_of, other_coach, ready):
    assert client.get(address(ready, gate="side")).status_code == 404
    assert client_of(other_coach).get(address(ready)).status_code == 404


def test_athletes_are_kept_out(client_of, athlete_member, ready):
    assert client_of(athlete_member).get("/sign-offs/").status_code == 403
    assert client_of(athlete_member).get(address(ready)).status_code == 403


# ---- Figures beside the decision -----------------------------------------------------------------------------------


def test_estimate_and_trend_are_folded_beside_the_form_and_say_that_they_are_no_evidence(client, coach, athlete):
    for days, tenths in enumerate((60, 55, 50, 45, 40)):
        hold(coach, athlete, "l-hold-4", tenths, at=days_before_now(7 * days))
    hold(coach, athlete, "l-hold-2", 600, at=days_before_now(3))
    html = client.get(address(athlete, "l-hold-4")).content.decode()
    assert '<details class="panel-of-figures" id="estimate"><summary>Estimate for this hold</summary>' in html
    assert "<summary>Trend at 4 L-hold on handles</summary>" in html
    assert "about 19 s" in html
    assert "The holds became longer" in html
    assert "Estimates, no evidence: none of them opens a step, and a coach decides." in html


def test_at_the_entrance_the_trend_is_that_of_the_steps_before(client, athlete):
    page = client.get(address(athlete, "l-hold-3", gate="entrance"))
    assert [step.code for step, _ in page.context["panels"].trends] == ["l-hold-2"]


def test_a_minor_gets_no_estimate_beside_the_decision_and_a_sentence_why(client, coach, minor):
    hold(coach, minor, "l-hold-2", 600, at=days_before_now(3))
    html = client.get(address(minor, "l-hold-4")).content.decode()
    assert "No estimate: No hold is estimated for who is under age" in html
    assert "Hold to expect" not in html


def test_figures_ask_as_much_for_years_of_holds_as_for_one(
    client, coach, athlete, django_assert_max_num_queries, django_assert_num_queries
):
    for code in ("l-hold-2", "l-hold-4"):
        hold(coach, athlete, code, 600, at=days_before_now(3))
    where = address(athlete, "l-hold-4")
    client.get(where)
    with django_assert_max_num_queries(60) as first:
        client.get(where)
    for days in range(1, 700, 20):
        for code in ("l-hold-2", "l-hold-4"):
            hold(coach, athlete, code, 60 + days, at=days_before_now(days))
    with django_assert_num_queries(len(first)):
        client.get(where)
