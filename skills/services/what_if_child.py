"""The process that plans a month's classes twice, as they were and as they would be: a job in, a line a class out.

It runs beside the server at the lowest priority, knows no database and no names, and ends by itself: each search has
a limit, and the processor takes the whole away after MOST_CPU_SECONDS. Started by `skills.services.what_ifs`.
"""

from __future__ import annotations

import json
import os
import resource
import sys
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from skills.core.rotation.asks import Ask
from skills.core.rotation.checking import broken_rules
from skills.core.rotation.highs import InfeasibleError
from skills.core.rotation.solving import Effort, NothingFoundError, best_plan
from skills.core.rotation.what_if import Minutes, Practice, practice_of
from skills.core.rotation.written import read_ask
from skills.services.plan_child import stand_back

MOST_CPU_SECONDS: Final = 600
EFFORT: Final = Effort(gap=0.01, nodes=400, seconds=12.0)


def main() -> None:
    """Read, plan, answer class by class."""
    stand_back()
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_SECONDS, MOST_CPU_SECONDS))
    # HiGHS greets on standard output: the answers get one of their own.
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    for line in answers_to(json.load(sys.stdin)):
        answers.write(line + "\n")
        answers.flush()
    answers.close()


def answers_to(job: dict[str, Any]) -> Iterator[str]:
    """Yield an answer for each class: `{"before": …, "after": …}`, or `{}` for one that was not planned."""
    minutes = Minutes(*job["minutes"])
    for texts in job["classes"]:
        found = [came_to(read_ask(text), minutes) for text in texts]
        sides = zip(("before", "after"), found, strict=True)
        yield json.dumps({side: asdict(practice) for side, practice in sides if practice} if all(found) else {})


def came_to(ask: Ask, minutes: Minutes) -> Practice | None:
    """Return what the best plan found comes to; None without one, or for one that breaks a rule."""
    try:
        plan = best_plan(ask, EFFORT)
    except (InfeasibleError, NothingFoundError):
        return None
    return None if broken_rules(ask, plan) else practice_of(ask, plan, minutes)


if __name__ == "__main__":
    main()
