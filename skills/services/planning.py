"""Having a class planned by a process of its own, so that no tablet waits for it."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from threading import BoundedSemaphore
from typing import Final

from django.conf import settings

from skills.core.rotation.asks import Ask, Plan
from skills.core.rotation.checking import broken_rules
from skills.core.rotation.clashes import Clash
from skills.core.rotation.simple import first_come
from skills.core.rotation.written import read_clash, read_plan, written_ask

logger = logging.getLogger(__name__)

MOST_SECONDS: Final = 45
# One at a time: a second one would only make the first one later.
_turn = BoundedSemaphore(1)


class ClashingRulesError(ValueError):
    """No plan keeps all the rules; `clash` is a smallest set of them that cannot hold together."""

    def __init__(self, clash: Clash) -> None:
        self.clash = clash
        super().__init__("No plan keeps all the rules.")


def planned(ask: Ask) -> Plan:
    """Return the best plan that was found, or people in turn where none was found in time; it keeps every rule.

    Raises ClashingRulesError.
    """
    with _turn:
        answer = _asked(ask)
    if "clash" in answer:
        raise ClashingRulesError(read_clash(json.dumps(answer["clash"])))
    plan = read_plan(json.dumps(answer["plan"])) if "plan" in answer else first_come(ask)
    return _sound(ask, plan)


def _asked(ask: Ask) -> dict[str, object]:
    try:
        done = subprocess.run(
            [sys.executable, "-m", "skills.services.plan_child"],
            input=written_ask(ask),
            capture_output=True,
            encoding="utf-8",
            cwd=settings.BASE_DIR,
            timeout=MOST_SECONDS,
            check=True,
        )
    except (subprocess.SubprocessError, OSError) as error:
        logger.warning("class plan: no answer (%s)", type(error).__name__)
        return {}
    answer: dict[str, object] = json.loads(done.stdout)
    return answer


def _sound(ask: Ask, plan: Plan) -> Plan:
    """Return the plan if it keeps every rule; one that does not is never shown, and people come in turn instead."""
    broken = broken_rules(ask, plan)
    if not broken:
        return plan
    logger.error("class plan: a plan broke rules (%s)", ", ".join(sorted({each.rule for each in broken})))
    simple = first_come(ask)
    if broken_rules(ask, simple):
        raise ClashingRulesError(Clash(tuple(ask.pins)))
    return simple
