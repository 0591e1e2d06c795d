"""Every act that the code records has its sentence."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import athletes
import skills
from athletes.core.act_words import SENTENCES, act_sentence

SOURCES = [path for package in (athletes, skills) for path in Path(str(package.__file__)).parent.rglob("*.py")]

CONSENT = "wrote down a consent"


def calls(tree: ast.AST) -> Iterator[tuple[str, ast.expr, set[str]]]:
    """Every call with an argument `act=`: what is called, the argument, and the parameters of the function around."""
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            around = {each.arg for each in (*function.args.args, *function.args.kwonlyargs)}
            for call in ast.walk(function):
                if isinstance(call, ast.Call):
                    called = getattr(call.func, "id", getattr(call.func, "attr", ""))
                    yield from ((called, each.value, around) for each in call.keywords if each.arg == "act")


def acts() -> Iterator[tuple[Path, ast.expr, set[str], str]]:
    for path in SOURCES:
        for called, value, around in calls(ast.parse(path.read_text())):
            yield path, value, around, called


def test_every_act_of_the_code_has_a_sentence():
    written = {each.value for _, value, _, _ in acts() for each in ast.walk(value) if isinstance(each, ast.Constant)}
    assert {"attempt_logged", "erased", "gym_founded"} <= written
    assert written - SENTENCES.keys() == set(), "give them a sentence in athletes/core/act_words.py"


def test_no_act_is_made_up_where_this_cannot_be_seen():
    """Where `record_act` is given no plain word, it is an argument of the function around it, whose calls are seen."""
    for path, value, around, called in acts():
        if called != "record_act":
            continue
        plain = any(isinstance(each, ast.Constant) for each in ast.walk(value))
        handed_on = isinstance(value, ast.Name) and value.id in around
        assert plain or handed_on, path


def test_every_call_names_its_act():
    for path in SOURCES:
        for call in ast.walk(ast.parse(path.read_text())):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "record_act":
                assert "act" in {each.arg for each in call.keywords}, path


@pytest.mark.parametrize("act", SENTENCES)
def test_a_sentence_reads_whatever_its_content(act):
    words = act_sentence(act, {})
    assert "{" not in words
    assert words == words.strip()
    assert not words.endswith(".")


@pytest.mark.parametrize(
    ("act", "content", "words"),
    [
        ("signed_off", {"decision": "not_yet"}, "decided at a step: not yet"),
        ("consent_recorded", {"kind": "spotting", "given": False}, f"{CONSENT}: hands-on spotting, withdrawn"),
        ("consent_recorded", {"kind": "inversion", "given": True}, f"{CONSENT}: going upside down, given"),
        ("erased", {"cause": "retention"}, "erased what was kept about somebody (its time was over)"),
        ("membership_ended", {}, "ended a membership (not said)"),
        ("an_old_act", {}, "an old act"),
    ],
)
def test_a_sentence_says_what_the_content_says(act, content, words):
    assert act_sentence(act, content) == words
