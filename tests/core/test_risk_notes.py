"""Risk notes: by place, and another version for other words."""

from dataclasses import replace

import pytest

from skills.core.risk_notes import PLACES, StepRisks, digest_of, risk_notes

PLAIN = StepRisks(
    inverted=False,
    over_bar=False,
    low_bar=False,
    loads=frozenset({"hanging"}),
    set_up=("A box under the bar.",),
    cautions=("Stop while the grip can still be let go by choice.",),
    getting_down="One foot after the other on the box.",
)


def places(step: StepRisks) -> list[str]:
    return [note.place for note in risk_notes(step)]


def test_a_step_without_such_a_risk_says_its_own_words_alone_and_is_not_asked() -> None:
    assert not PLAIN.is_asked
    assert [(note.place, note.lines) for note in risk_notes(PLAIN)] == [
        ("set_up", PLAIN.set_up),
        ("room", (PLAIN.getting_down,)),
        ("step", PLAIN.cautions),
    ]


@pytest.mark.parametrize(
    ("step", "place"),
    [
        (replace(PLAIN, inverted=True), "upside_down"),
        (replace(PLAIN, over_bar=True), "upside_down"),
        (replace(PLAIN, low_bar=True), "low_bar"),
    ],
    ids=["inverted", "over the bar", "low bar"],
)
def test_each_risk_stands_at_its_place_with_room_and_spotting_beside_it(step: StepRisks, place: str) -> None:
    assert step.is_asked
    assert places(step) == [one for one in PLACES if one in {"set_up", place, "room", "spotting", "step"}]
    (note,) = [one for one in risk_notes(step) if one.place == "set_up"]
    assert "Local codes, the equipment maker’s instructions and licensed practice come first." in note.lines
    assert note.lines[-1] == "A box under the bar."


def test_a_landing_adds_a_line_on_coming_down() -> None:
    room = {note.place: note.lines for note in risk_notes(replace(PLAIN, loads=frozenset({"landing"})))}["room"]
    assert room == ("Land on both feet, knees soft, and only where the mat is.", PLAIN.getting_down)


def test_any_other_word_is_another_version_and_the_same_words_are_the_same() -> None:
    risky = replace(PLAIN, inverted=True)
    others = [
        replace(risky, set_up=("A box beside the bar.",)),
        replace(risky, cautions=()),
        replace(risky, getting_down=""),
        replace(risky, low_bar=True),
        replace(risky, set_up=("A box under the bar.", "")),
    ]
    digests = [digest_of(risk_notes(each)) for each in (risky, *others)]
    assert len({*digests}) == len(digests)
    assert digest_of(risk_notes(replace(risky))) == digests[0]
    assert {len(digest) for digest in digests} == {64}
