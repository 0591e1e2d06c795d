"""What is written is read again as the same value, and the same value is written as the same bytes."""

import pytest

from skills.core.rotation.solving import best_plan
from skills.core.rotation.written import UnreadableError, read_ask, read_plan, written_ask, written_plan
from tests.core.rotation.classes import gyms, small


@pytest.mark.parametrize("seed", range(30))
def test_an_ask_comes_back_as_it_was(seed):
    ask = small(seed)
    assert read_ask(written_ask(ask)) == ask
    assert written_ask(read_ask(written_ask(ask))) == written_ask(ask)


def test_a_plan_comes_back_as_it_was():
    plan = best_plan(gyms(1, people=12, rotations=4, stations=6, adjustable=2))
    assert read_plan(written_plan(plan)) == plan
    assert written_plan(read_plan(written_plan(plan))) == written_plan(plan)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"people": 3}', "null"])
@pytest.mark.parametrize("read", [read_ask, read_plan])
def test_anything_else_is_refused(read, text):
    with pytest.raises(UnreadableError):
        read(text)
