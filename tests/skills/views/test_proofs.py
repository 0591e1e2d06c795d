"""The proof of a day: what was known then, what was said since, and "not recorded" where nothing was."""

import re
from datetime import date, timedelta
from hashlib import sha256

import pytest
from django.utils import timezone

from athletes.models import AuditHead, Certificate, Consent
from skills.services.cautions import enter_caution
from tests.factories.athletes import make_consent
from tests.factories.skills import library, log, pass_step, start_class
from tests.skills.season import STEP, at, on, play

HEALTH = "It is no judgement of health"


@pytest.fixture
def season(owner, coach, athlete):
    return play(owner, coach, athlete)


@pytest.fixture
def proof_of(client_of, coach, athlete):
    return lambda day, who=None: client_of(who or coach).get(f"/athletes/{athlete.id}/proof/{day}/")


def words(response):
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))
    return text.replace("&#x27;", "'").replace(" .", ".").replace(" :", ":").replace(" ,", ",")


def steps_of(response):
    return {step.name.split()[0]: step for step in response.context["steps"]}


def test_the_third_names_clearance_evidence_and_the_criterion_of_then(proof_of, season):
    step = steps_of(proof_of("2026-11-03"))["3a"]
    digest = sha256("\n".join(sorted(str(each.id) for each in season.holds)).encode()).hexdigest()[:16]
    assert step.stands == (
        "cleared: spotted (working on it); from 18:00 cleared: spotted (ready for sign-off); "
        "from 18:30 cleared: alone (passed)"
    )
    assert step.decisions[1] == (
        "has it: passed, alone; Cleo Adeyemi, 3 Nov 2026 18:30, under criterion 1, on "
        f"6 s (2 Nov 2026), 11 s (2 Nov 2026), 6 s (3 Nov 2026) [{digest}]"
    )
    assert step.criterion == (
        "Criterion 1, from the beginning: three clean judged holds of 5 s or longer, on two days."
    )
    assert step.practised.startswith("3 attempts: 3 judged, 2 clean [")


def test_what_was_recorded_and_revoked_since_stands_apart(proof_of, season):
    assert proof_of("2026-11-03").context["learned"] == [
        "3a Tucked inverted hang with the floor in reach: One attempt was taken back later.",
        "3a Tucked inverted hang with the floor in reach: “has it” was revoked on 7 Nov 2026 18:00 by Cleo Adeyemi.",
    ]
    assert proof_of("2026-11-08").context["learned"] == []


def test_a_day_without_practice_still_says_what_the_clearance_was(proof_of, season):
    fourth, sixth = steps_of(proof_of("2026-11-04"))["3a"], steps_of(proof_of("2026-11-06"))["3a"]
    assert (fourth.stands, fourth.practised) == ("cleared: alone (passed)", "")
    assert sixth.stands == "cleared: spotted (passed)"
    assert sixth.criterion.startswith("Criterion 2, in force since 6 Nov 2026 18:00: three clean judged holds of 20 s")
    assert "under criterion 1" in sixth.decisions[1]


def test_an_attempt_that_comes_in_a_day_late_is_said_to_have(proof_of, coach, athlete, season):
    with at(on(9)):
        log(coach, athlete, STEP, 8, at=on(3, 19))
    page = proof_of("2026-11-03")
    assert steps_of(page)["3a"].practised.startswith("4 attempts: 4 judged, 3 clean, 1 entered after the day [")
    assert page.context["learned"][:2] == [
        "3a Tucked inverted hang with the floor in reach: One attempt was taken back later.",
        "3a Tucked inverted hang with the floor in reach: One attempt was entered later.",
    ]


def test_coaches_stand_with_rights_and_certificates_of_the_day_they_acted_on(proof_of, season, coach, owner):
    entered = {"gym": coach.gym, "membership": coach, "entered_by": owner, "happened_at": timezone.now()}
    Certificate.objects.create(**entered, kind="coaching", valid_from=date(2026, 1, 1), valid_until=date(2026, 11, 2))
    Certificate.objects.create(**entered, kind="first_aid", valid_from=date(2026, 1, 1))
    lines = {(line["name"], line["on"]): line for line in proof_of("2026-11-03", owner).context["staff"]}
    today = lines["Cleo Adeyemi", ""]
    assert today["acts"] == "logged attempts, led Monday class, signed Bar pullover 3a"
    assert today["certificates"] == [
        "coaching certificate: lapsed, was valid until 2 Nov 2026",
        "first aid: valid without end",
        "safeguarding check: not recorded",
    ]
    assert lines["Cleo Adeyemi", "1 Nov 2026"]["certificates"][0] == "coaching certificate: valid until 2 Nov 2026"


def test_rights_are_those_of_the_moment(proof_of, season, coach):
    lines = proof_of("2026-11-03").context["staff"]
    assert {line["rights"] for line in lines} == {"no rights then"}  # the test's coach has them since today


def test_head_count_bar_checks_consents_and_cautions_are_named_or_not_recorded(proof_of, season, coach, owner, athlete):
    told = words(proof_of("2026-11-03"))
    assert "Monday class, 18:10, Cleo Adeyemi: 1 athlete, 1 coach; number of bars not recorded." in told
    assert "low bar by the door, Cleo Adeyemi, 18:09." in told
    assert "Hands-on spotting: not recorded. Going upside down: not recorded." in told
    assert "Cautions in force that day Not recorded." in told
    nothing = words(proof_of("2026-11-04"))
    assert "Head count Not recorded." in nothing
    assert "Checks of low bars that day Not recorded." in nothing
    said = {"gym": coach.gym, "athlete": athlete, "entered_by": owner, "given": True}
    with at(on(3, 9)):
        enter_caution(
            by=coach,
            athlete=athlete,
            loads=frozenset({"landing"}),
            from_at=on(3, 9),
            until_at=on(3, 12),
            reason="Ankle",
        )
        for kind, by in (("spotting", "athlete"), ("inversion", "guardian")):
            Consent.objects.create(**said, kind=kind, said_by=by, happened_at=on(3, 9))
    told = words(proof_of("2026-11-03"))
    assert "Hands-on spotting: given by the athlete on 3 Nov 2026." in told
    assert "Going upside down: given by a guardian on 3 Nov 2026, who did not decide that day." in told
    assert "No landing, from 3 Nov 2026 09:00 until 3 Nov 2026 12:00 (Ankle)." in told
    assert "not recorded" in words(proof_of("2026-11-02"))


def test_the_print_names_the_head_of_the_audit_chain_who_printed_and_what_it_is_not(proof_of, season, gym):
    head = AuditHead.objects.get(gym=gym)
    told = words(proof_of("2026-11-03"))
    assert f"audit chain had {head.length} entries; its head was {head.seal}" in told
    assert "by Cleo Adeyemi" in told
    assert HEALTH in told
    assert AuditHead.objects.get(gym=gym).length == head.length  # a read leaves no entry


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ("2999-01-01", "This day lies ahead"),
        ("2026-02-30", "This is no day: write it like 2026-11-03."),
        ("today", "This is no day"),
        ("0001-01-01", "This is too long ago"),
    ],
)
def test_a_day_of_which_there_is_no_proof_is_said_beside_the_field(client_of, coach, athlete, day, sentence):
    page = client_of(coach).get(f"/athletes/{athlete.id}/proof/{day}/")
    assert page.status_code == 404
    assert sentence in words(page)
    assert f'value="{day}"' in page.content.decode()
    asked = client_of(coach).get(f"/athletes/{athlete.id}/proof/", {"day": day})
    assert asked.status_code == 422
    assert sentence in words(asked)


def test_a_chosen_day_leads_to_its_proof(client_of, coach, athlete):
    answer = client_of(coach).get(f"/athletes/{athlete.id}/proof/", {"day": "2026-11-03"})
    assert (answer.status_code, answer["Location"]) == (303, f"/athletes/{athlete.id}/proof/2026-11-03/")
    assert client_of(coach).get(f"/athletes/{athlete.id}/proof/").status_code == 200


def test_today_says_that_the_day_is_not_over_and_is_kept_nowhere(proof_of, gym, owner):
    library(gym, owner)
    page = proof_of(timezone.now().astimezone(gym.zone).date())
    assert "the day not being over" in words(page)
    assert page["Cache-Control"] == "no-store"
    assert "No clearance was in force and nothing was practised." in words(page)


def test_it_is_for_owners_and_staff_who_sign_or_read_reports(proof_of, season, owner, coach_two, other_coach):
    assert proof_of("2026-11-03", owner).status_code == 200
    assert proof_of("2026-11-03", coach_two).status_code == 403
    coach_two.may_read_reports = True
    coach_two.save()
    assert proof_of("2026-11-03", coach_two).status_code == 200
    assert proof_of("2026-11-03", other_coach).status_code == 404


def test_a_minor_stands_by_initials(client_of, gym, owner, coach, minor):
    library(gym, owner)
    log(coach, minor, "pullover-1", 5, session=start_class(coach, minor))
    page = client_of(coach).get(f"/athletes/{minor.id}/proof/{timezone.now().astimezone(gym.zone).date()}/")
    assert "M. O." in words(page)
    assert "Okafor" not in page.content.decode()


def test_a_proof_names_a_minor_with_a_guardians_consent_and_an_adult_until_they_say_no(
    client_of, coach, minor, athlete
):
    def heading(who):
        today = timezone.now().astimezone(coach.gym.zone).date()
        html = client_of(coach).get(f"/athletes/{who.id}/proof/{today}/").content.decode()
        return html.split("<h1>")[1].split("</h1>")[0]

    assert "Ada Lindqvist" in heading(athlete)
    make_consent(athlete, by=coach, kind="reports", given=False)
    make_consent(minor, by=coach, kind="reports")
    assert "A. L." in heading(athlete)
    assert "Mia Okafor" in heading(minor)


def test_queries_do_not_grow_with_steps_days_and_coaches(client_of, owner, coach, athlete, django_assert_num_queries):
    library(coach.gym, owner)
    pass_step(coach, athlete, "pullover-3a")
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"landing"}), from_at=timezone.now(), until_at=None, reason=""
    )
    client, day = client_of(coach), timezone.now().astimezone(coach.gym.zone).date()
    for logger in (coach, owner, coach):
        log(logger, athlete, STEP, 5, session=start_class(logger, athlete))
        with django_assert_num_queries(25):
            client.get(f"/athletes/{athlete.id}/proof/{day}/")


def test_a_day_ends_one_microsecond_before_the_next(proof_of, coach, athlete, season):
    midnight = on(10) - timedelta(hours=18)
    with at(on(12)):
        log(coach, athlete, STEP, 5, at=midnight - timedelta(microseconds=1))
        log(coach, athlete, STEP, 5, at=midnight)
    assert steps_of(proof_of("2026-11-09"))["3a"].practised.startswith("1 attempt: 1 judged, 1 clean, 1 entered after")
    assert steps_of(proof_of("2026-11-10"))["3a"].practised.startswith("1 attempt: 1 judged, 1 clean, 1 entered after")
