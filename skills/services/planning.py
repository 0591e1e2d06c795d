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
from skills.core.rotation.written import UnreadableError, read_clash, read_plan, written_ask

logger = logging.getLogger(__name__)

MOST_SECONDS: Final = 45
CHILD: Final = (sys.executable, "-m", "skills.services.plan_child")
# One at a time: a second one would only make the first one later. Who comes meanwhile waits for a moment and is then
# told to come again, so that waiting never takes up the threads that tablets are answered by.
WAIT_SECONDS: Final = 2.0
_turn = BoundedSemaphore(1)


class ClashingRulesError(ValueError):
    """No plan keeps all the rules; `clash` is a smallest set of them that cannot hold together."""

    def __init__(self, clash: Clash) -> None:
        self.clash = clash
        super().__init__("No plan keeps all the rules.")


class PlannerBusyError(RuntimeError):
    """Another class is being planned."""

    def __init__(self) -> None:
        super().__init__("Another class is being planned: try again in a moment.")


class NoPlanInTimeError(RuntimeError):
    """Nothing was found in time, and people who choose in turn would not keep what a coach fixed."""

    def __init__(self) -> None:
        super().__init__("No plan was found in time that keeps what you fixed. Unfix somebody, and plan again.")


def planned(ask: Ask) -> Plan:
    """Return the best plan that was found, or people in turn where none was found in time; it keeps every rule.

    Raises ClashingRulesError, NoPlanInTimeError, PlannerBusyError.
    """
    if not _turn.acquire(timeout=WAIT_SECONDS):
        raise PlannerBusyError
    try:
        answer = _asked(ask)
    finally:
        _turn.release()
    if isinstance(answer, Clash):
        raise ClashingRulesError(answer)
    return _sound(ask, answer) or _in_turn(ask)


def _asked(ask: Ask) -> Plan | Clash | None:
    """Return what the child answers; None where it gives no answer, or one that cannot be read."""
    try:
        done = subprocess.run(
            CHILD,
            input=written_ask(ask),
            capture_output=True,
            encoding="utf-8",
            cwd=settings.BASE_DIR,
            timeout=MOST_SECONDS,
            check=True,
        )
        return _read(done.stdout)
    except (subprocess.SubprocessError, OSError, UnreadableError, ValueError) as error:
        logger.warning("class plan: no answer (%s)", type(error).__name__)
        return None


def _read(text: str) -> Plan | Clash | None:
    answer = json.loads(text)
    if not isinstance(answer, dict):
        raise UnreadableError("This is no answer.")
    if "clash" in answer:
        return read_clash(json.dumps(answer["clash"]))
    return read_plan(json.dumps(answer["plan"])) if "plan" in answer else None


def _sound(ask: Ask, plan: Plan | None) -> Plan | None:
    """Return the plan if it keeps every rule: one that does not is never shown."""
    broken = broken_rules(ask, plan) if plan else ()
    if broken:
        logger.error("class plan: a plan broke rules (%s)", ", ".join(sorted({each.rule for each in broken})))
    return None if broken else plan


def _in_turn(ask: Ask) -> Plan:
    simple = first_come(ask)
    if broken_rules(ask, simple):
        raise NoPlanInTimeError
    return simple
