"""The process that plans: killed, silent, wrong or late, it never has a plan shown that breaks a rule."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from skills.core.rotation.asks import Ask, Choice, Person, Pin, Place, Plan, Seat, Station
from skills.core.rotation.checking import broken_rules
from skills.core.rotation.written import written_ask, written_plan
from skills.services import plan_child, planning
from skills.services.planning import ClashingRulesError, NoPlanInTimeError, PlannerBusyError, planned

RING = Place("rings")
RINGS = Station("rings", 1)


def somebody(key: str) -> Person:
    return Person(key, (Choice("swing", "in_hand", (RING,)),))


ASK = Ask(people=(somebody("a"), somebody("b")), stations=(RINGS,), rotations=2)


def child_that(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    monkeypatch.setattr(planning, "CHILD", (sys.executable, "-c", code))


def child_that_says(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    child_that(monkeypatch, f"import sys; sys.stdin.read(); print({text!r})")


def test_the_child_plans_and_its_answer_is_the_same_each_time():
    first, second = planned(ASK), planned(ASK)
    assert written_plan(first) == written_plan(second)
    assert first.proof == "optimal"
    assert {(seat.rotation, seat.person) for seat in first.seats} in ({(0, "a"), (1, "b")}, {(0, "b"), (1, "a")})


def test_the_child_stands_back_for_everything_else():
    answer = subprocess.run(
        [*planning.CHILD],
        input=written_ask(ASK),
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert answer.stdout.startswith('{"plan":')
    code = "import os; from unittest import mock; from skills.services import plan_child; import io, sys\n"
    code += f"sys.stdin = io.StringIO({written_ask(ASK)!r}); plan_child.main(); sys.stderr.write(str(os.nice(0)))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, encoding="utf-8", check=True)
    assert told.stderr.endswith(str(plan_child.LOWEST_PRIORITY))


def test_what_clashes_is_named_by_the_child():
    both = (Pin("a", 0, "rings"), Pin("b", 0, "rings"))
    asked = Ask(people=ASK.people, stations=ASK.stations, rotations=2, pins=(*both, Pin("a", 1, "rings")))
    with pytest.raises(ClashingRulesError) as caught:
        planned(asked)
    assert caught.value.clash.rules == both


def test_a_pin_where_nothing_is_done_clashes_alone():
    wrong = Pin("a", 0, "floor")
    asked = Ask(people=ASK.people, stations=(RINGS, Station("floor", 4)), rotations=2, pins=(wrong,))
    with pytest.raises(ClashingRulesError) as caught:
        planned(asked)
    assert caught.value.clash.rules == (wrong,)


@pytest.mark.parametrize(
    "code",
    [
        "import os, signal; os.kill(os.getpid(), signal.SIGKILL)",
        "raise SystemExit(1)",
        "print('')",
        "print('[]')",
        "print('{\"nothing\":true}')",
        "print('{\"plan\":{}}')",
        "print('no JSON')",
    ],
)
def test_without_an_answer_people_take_turns_and_the_plan_says_so(monkeypatch, code):
    child_that(monkeypatch, code)
    plan = planned(ASK)
    assert plan.proof == "in_turn"
    assert not broken_rules(ASK, plan)
    assert len(plan.seats) == 2


def test_a_child_that_takes_too_long_is_ended(monkeypatch):
    child_that(monkeypatch, "import time; time.sleep(600)")
    monkeypatch.setattr(planning, "MOST_SECONDS", 0.3)
    assert planned(ASK).proof == "in_turn"


def test_a_plan_that_breaks_a_rule_is_never_shown(monkeypatch, caplog):
    together = Plan((Seat(0, "a", 0, "rings"), Seat(0, "b", 0, "rings")), {}, (), 999, 999, "optimal")
    child_that_says(monkeypatch, f'{{"plan":{written_plan(together)}}}')
    plan = planned(ASK)
    assert plan.proof == "in_turn"
    assert not broken_rules(ASK, plan)
    assert "more people than places" in caplog.text


def test_what_a_coach_fixed_is_not_given_up_for_want_of_time(monkeypatch):
    child_that(monkeypatch, "raise SystemExit(1)")
    # Whoever is pinned chooses first, and the bar's one height is then the other one's.
    bar = Station("bar", 2, adjustable=True)
    low, high = (Choice("row", "in_hand", (Place("bar", hole),)) for hole in (3, 9))
    asked = Ask(
        people=(Person("a", (low,)), Person("b", (high,))),
        stations=(bar,),
        rotations=1,
        pins=(Pin("a", 0, "bar"), Pin("b", 0, "bar")),
    )
    with pytest.raises(NoPlanInTimeError, match="Unfix somebody"):
        planned(asked)


def test_the_next_one_can_be_planned_after_a_clash_or_a_failure(monkeypatch):
    child_that(monkeypatch, "raise SystemExit(1)")
    planned(ASK)
    monkeypatch.undo()
    assert planned(ASK).proof == "optimal"


def test_who_comes_while_another_is_planned_is_told_to_come_again(monkeypatch):
    monkeypatch.setattr(planning, "WAIT_SECONDS", 0.05)
    with planning._turn, pytest.raises(PlannerBusyError, match="in a moment"):
        planned(ASK)
    assert planned(ASK).proof == "optimal"


def test_two_at_once_are_planned_one_after_the_other(monkeypatch):
    monkeypatch.setattr(planning, "WAIT_SECONDS", 30)
    with ThreadPoolExecutor(2) as pool:
        first, second = pool.map(planned, (ASK, ASK))
    assert written_plan(first) == written_plan(second)
    assert first.proof == "optimal"
