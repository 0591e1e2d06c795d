"""`manage.py explain` says what the page says, without free texts."""

import pytest
from django.core.management import CommandError, call_command

from tests.factories.skills import library, log
from tests.skills.season import STEP, play


@pytest.fixture
def explain(gym, capsys):
    def told(**options):
        call_command("explain", **{"gym": gym.slug, "step": STEP, **options})
        return capsys.readouterr().out

    return told


def test_it_tells_state_evidence_decisions_and_what_was_learned_later(explain, owner, coach, athlete):
    play(owner, coach, athlete)
    told = explain(athlete="lindq", at="2026-11-03T19:00", known="then").splitlines()
    assert told[:4] == [
        "1 Ada Lindqvist: 3a Tucked inverted hang with the floor in reach",
        "On 3 Nov 2026 19:00, as it was known then",
        "Known then and known now differ. One attempt was taken back later.",
        "",
    ]
    assert told[4] == "passed since 3 Nov 2026 18:30, cleared: alone"
    assert "What was missing: nothing" in told
    assert (
        "  2 Nov 2026 18:05  11 s, clean; judged, Cleo Adeyemi, outside a class; "
        "for the criterion; the sign-off rests on it" in told
    )
    assert told[-2:] == ["", "Cautions in force then: none"]


def test_reasons_are_left_out(explain, owner, coach, athlete):
    play(owner, coach, athlete)
    told = explain(athlete="1")
    assert "revoked" in told
    assert "Lost the shape" not in told
    assert "Another athlete" not in told


def test_a_minor_stands_by_initials(explain, gym, owner, coach, minor):
    library(gym, owner)
    log(coach, minor, "pullover-1", 5)
    told = explain(athlete="mia okafor", step="pullover-1")
    assert told.startswith("1 M. O.: 1 ")
    assert "Okafor" not in told


@pytest.mark.usefixtures("athlete", "minor")
@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ({"athlete": "zz"}, "No athlete of harbour fits 'zz'"),
        ({"athlete": " "}, "No athlete of harbour fits ' '"),
        ({"athlete": "a"}, "Several athletes fit 'a': 1 Ada Lindqvist, 2 M. O.. Give the number."),
        ({"athlete": "1", "step": "nope"}, "There is no step 'nope'; there is: pullover-1"),
        ({"athlete": "1", "at": "yesterday"}, "--at yesterday: This is no date and time"),
        ({"athlete": "1", "at": "2999-01-01T10:00"}, "This moment lies ahead"),
        ({"athlete": "1", "gym": "nowhere"}, "There is no gym 'nowhere'"),
    ],
)
def test_what_cannot_be_told_is_said_in_a_sentence(explain, gym, owner, options, sentence):
    library(gym, owner)
    with pytest.raises(CommandError) as refused:
        explain(**options)
    assert sentence in str(refused.value)
