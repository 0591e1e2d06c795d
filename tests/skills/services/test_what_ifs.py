"""A month worked out in a process of its own: kept as it comes, one question at a time, and told when it was killed."""

import json
import os
import signal
import subprocess
import sys
import time
from datetime import date

import pytest

from skills.core.month import Month
from skills.core.rotation.solving import best_plan
from skills.core.rotation.what_if import Change, Minutes, NothingToChangeError, Pair, changed
from skills.core.rotation.written import written_ask
from skills.queries.what_ifs import PastClass, PastClasses
from skills.services import plan_child, what_if_child, what_ifs
from skills.services.what_ifs import AtWorkError, last_run, start
from tests.core.rotation.classes import gyms

SEPTEMBER = Month(2026, 9)
WAITS = "import time; time.sleep(60)"


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    yield
    for child in what_ifs._started:
        child.wait(timeout=60)


def month_of(*seeds: int, bar: str | None = "low-0") -> PastClasses:
    asks = [gyms(seed, people=6, rotations=2, stations=4, adjustable=1) for seed in seeds]
    classes = tuple(PastClass(f"class {n}", date(2026, 9, n), ask) for n, ask in enumerate(asks, 1))
    return PastClasses(SEPTEMBER, classes, found=len(seeds) + 2, stations=4, bar=bar)


def child_that(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    monkeypatch.setattr(what_ifs, "CHILD", (sys.executable, "-c", code))


def ended(gym):
    """The run, once nobody is at work on it any more."""
    until = time.monotonic() + 120
    while (run := last_run(gym)) and run.at_work:
        assert time.monotonic() < until
        time.sleep(0.05)
    return run


def seen(gym):
    """The run that was asked for last, which must be there."""
    run = last_run(gym)
    assert run is not None
    return run


def kill_child():
    os.kill(what_ifs._started[-1].pid, signal.SIGKILL)


def test_every_class_is_planned_as_it_was_and_as_it_would_be(gym):
    past, change = month_of(1, 2), Change(low_bar=True, coach=True)
    start(gym=gym, past=past, change=change)
    run = ended(gym)
    assert (run.month, run.change, run.found, run.done) == (SEPTEMBER, change, 4, 2)
    assert not run.cut_short
    assert [(told.name, told.on) for told in run.classes] == [(each.name, each.on) for each in past.classes]
    for told, each in zip(run.classes, past.classes, strict=True):
        before, after = (
            what_if_child.came_to(ask, Minutes(12, 3)) for ask in (each.ask, changed(each.ask, change, bar="low-0"))
        )
        assert before is not None
        assert after is not None
        assert told.pair == Pair(before, after)
        assert told.pair.after.worth >= told.pair.before.worth


def test_one_question_at_a_time_and_the_next_one_takes_its_place(gym, other_gym, monkeypatch):
    child_that(monkeypatch, WAITS)
    start(gym=gym, past=month_of(1), change=Change(people=True))
    assert seen(gym).at_work
    with pytest.raises(AtWorkError, match="still being worked out"):
        start(gym=gym, past=month_of(2), change=Change(coach=True))
    assert seen(gym).change == Change(people=True)
    assert last_run(other_gym) is None
    kill_child()
    assert ended(gym).cut_short
    child_that(monkeypatch, "")
    start(gym=gym, past=month_of(2), change=Change(coach=True))
    assert seen(gym).change == Change(coach=True)
    ended(gym)


def test_a_killed_process_is_told_and_what_it_had_found_is_kept(gym, monkeypatch):
    practice = dict.fromkeys(
        ("people", "idle_minutes", "in_hand_rotations", "in_hand_minutes", "resets", "worth", "bound"), 1
    )
    line = json.dumps({"before": practice, "after": practice})
    child_that(monkeypatch, f"print({line!r}, flush=True); print('{{\"before', end='', flush=True); {WAITS}")
    start(gym=gym, past=month_of(1, 2, 3), change=Change(coach=True))
    until = time.monotonic() + 60
    while not seen(gym).done and time.monotonic() < until:
        time.sleep(0.05)
    assert (seen(gym).done, seen(gym).at_work) == (1, True)
    kill_child()
    run = ended(gym)
    assert (run.done, run.cut_short, len(run.known)) == (1, True, 1)


def test_a_class_without_a_plan_is_counted_and_left_out(gym, monkeypatch):
    child_that(monkeypatch, "print('{}')")
    start(gym=gym, past=month_of(1), change=Change(coach=True))
    run = ended(gym)
    assert (run.done, run.known, run.cut_short) == (1, (), False)


def test_what_cannot_be_asked_starts_nothing(gym):
    with pytest.raises(NothingToChangeError, match="No low bar"):
        start(gym=gym, past=month_of(1, bar=None), change=Change(low_bar=True))
    assert last_run(gym) is None


@pytest.mark.parametrize("text", ["", "{}\n", "no JSON\n", '{"month": 3}\n'])
def test_a_file_that_cannot_be_read_is_no_answer(gym, tmp_path, text):
    (tmp_path / "what_ifs").mkdir()
    (tmp_path / "what_ifs" / f"{gym.pk}.jsonl").write_text(text, encoding="utf-8")
    assert last_run(gym) is None


def test_the_process_stands_back_for_everything_else_and_has_a_limit():
    job = {"minutes": [12, 3], "classes": [[written_ask(each.ask)] * 2 for each in month_of(1).classes]}
    code = "import io, os, resource, sys; from skills.services import what_if_child\n"
    code += f"sys.stdin = io.StringIO({json.dumps(job)!r}); what_if_child.main()\n"
    code += "sys.stderr.write(f'{os.nice(0)} {resource.getrlimit(resource.RLIMIT_CPU)[0]}')"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, encoding="utf-8", check=True)
    assert done.stderr.endswith(f"{plan_child.LOWEST_PRIORITY} {what_if_child.MOST_CPU_SECONDS}")
    (answer,) = done.stdout.splitlines()
    assert json.loads(answer)["before"]["people"] == 6


def test_a_plan_that_breaks_a_rule_comes_to_nothing(monkeypatch):
    ask, wrong = (gyms(seed, people=6, rotations=2, stations=4, adjustable=1) for seed in (1, 2))
    plan = best_plan(wrong)
    monkeypatch.setattr(what_if_child, "best_plan", lambda *_: plan)
    assert what_if_child.came_to(ask, Minutes(12, 3)) is None
