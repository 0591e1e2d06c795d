import re

import pytest

from skills.models import AttemptVoid
from tests.factories.athletes import make_caution
from tests.factories.skills import decide, library, log, pass_step, start_class


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


def record(client, athlete):
    return client.get(f"/athletes/{athlete.id}/")


def steps_of(response):
    return {step["code"]: step for _, steps in response.context["skills"] for step in steps}


def test_only_steps_with_something_happening_and_the_next_one_stand_there(client_of, coach, athlete):
    response = record(client_of(coach), athlete)
    assert response["Cache-Control"] == "no-store"
    assert steps_of(response).keys() == {"pullover-1"}
    assert "L-hold" in response.context["not_begun"]


def test_each_step_tells_state_clearance_what_is_missing_and_what_waits(client_of, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    steps = steps_of(record(client_of(coach), athlete))
    assert steps["pullover-1"]["state"] == "passed"
    assert (steps["pullover-3a"]["state"], steps["pullover-3a"]["awaits"]) == ("closed", "entrance")
    assert steps["pullover-3a"]["missing"] == "a coach's clearance to try it"
    decide(coach, athlete, "pullover-3a", "entrance", clearance="spotted")
    assert steps_of(record(client_of(coach), athlete))["pullover-3a"]["clearance"] == "spotted"


def test_attempts_stand_with_note_and_undo_and_voided_ones_with_the_reason(client_of, coach, athlete):
    log(coach, athlete, "pullover-1", 5.2, effort=6, note="Chalk helped")
    client = client_of(coach)
    [row] = record(client, athlete).context["attempts"]
    assert (row.result, row.quality, row.help, row.source, row.by, row.effort, row.note) == (
        "5.2 s", "clean", "no help", "judged", "Cleo Adeyemi", "6", "Chalk helped",
    )  # fmt: skip
    client.post(f"/attempts/{row.id}/void/", {"why": "figure", "next": f"/athletes/{athlete.id}/"})
    html = record(client, athlete).content.decode()
    assert "taken back: Wrong time or count" in html
    assert "Chalk helped" in html
    assert AttemptVoid.objects.count() == 1


def test_cautions_in_force_stand_with_a_button_for_who_may_lift(client_of, coach, coach_two, athlete):
    caution = make_caution(athlete, coach, loads=["inversion"])
    button = f'action="/cautions/{caution.id}/lift/"'
    assert button in record(client_of(coach), athlete).content.decode()
    assert button not in record(client_of(coach_two), athlete).content.decode()


def test_a_minor_stands_by_initials(client_of, coach, minor):
    log(coach, minor, "pullover-1", 5, session=start_class(coach, minor))
    html = record(client_of(coach), minor).content.decode()
    assert "M. O." in html
    assert "Okafor" not in html


def test_another_gyms_athlete_is_not_there_and_athletes_are_kept_out(client_of, other_coach, athlete, athlete_member):
    assert record(client_of(other_coach), athlete).status_code == 404
    assert record(client_of(athlete_member), athlete).status_code == 403


def test_decisions_stand_with_step_gate_and_clearance(client_of, coach, athlete):
    pass_step(coach, athlete, "pullover-3a")
    rows = record(client_of(coach), athlete).context["decisions"]
    assert [(row.step.split()[0], row.gate, row.decision, row.clearance) for row in rows] == [
        ("3a", "has it", "passed", "coach present"),
        ("3a", "may try it", "passed", "coach present"),
    ]
    assert not re.search(r"\bNone\b", record(client_of(coach), athlete).content.decode())
