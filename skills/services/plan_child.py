"""The process that solves one class plan: an ask on standard input, a plan or a word of why not on standard output.

It runs beside the server at the lowest priority, knows no database, and ends with its answer. Started by
`skills.services.planning`; by hand: `python -m skills.services.plan_child < ask.json`.
"""

from __future__ import annotations

import json
import os
import sys

from skills.core.rotation.clashes import smallest_clash
from skills.core.rotation.highs import InfeasibleError
from skills.core.rotation.solving import NothingFoundError, best_plan
from skills.core.rotation.written import read_ask, written_clash, written_plan

LOWEST_PRIORITY = 19


def main() -> None:
    """Read, solve, answer."""
    stand_back()
    # HiGHS greets on standard output: the answer gets one of its own.
    answer = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    answer.write(answer_to(sys.stdin.read()))
    answer.close()


def stand_back() -> None:
    """Let every other process go first: the lowest priority, and the policy of what runs when nobody else does.

    Under that policy whoever answers a tablet takes the processor at once; at a low priority alone it waits for the
    end of a slice. Where all processors are busy already that policy would mean never, and the low priority has to do.
    """
    os.nice(LOWEST_PRIORITY)
    if hasattr(os, "SCHED_IDLE") and os.getloadavg()[0] < (os.cpu_count() or 1):
        os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))


def answer_to(text: str) -> str:
    """Return the answer to a written ask: `{"plan": …}`, `{"clash": …}` or `{"nothing": true}`."""
    ask = read_ask(text)
    try:
        return f'{{"plan":{written_plan(best_plan(ask))}}}'
    except InfeasibleError:
        return f'{{"clash":{written_clash(smallest_clash(ask))}}}'
    except NothingFoundError:
        return json.dumps({"nothing": True})


if __name__ == "__main__":
    main()
