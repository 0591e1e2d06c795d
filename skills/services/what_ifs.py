"""Working out what a month would have been with more bars, people or coaches, in a process of its own, and keeping it.

One question a gym at a time. The process writes what it finds, class by class, into a file of the data folder, which
the page reads; a lock that it holds as long as it lives tells whether it is still at work. Nothing in the file tells
who was there: it has names of classes, days and sums.
"""

from __future__ import annotations

import fcntl
import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryFile
from typing import BinaryIO, Final

from django.conf import settings

from athletes.models import Gym
from skills.core.month import Month
from skills.core.rotation.what_if import Change, Pair, Practice, changed
from skills.core.rotation.written import written_ask
from skills.queries.what_ifs import USUAL, PastClasses

CHILD = (sys.executable, "-m", "skills.services.what_if_child")
# Kept until they end, so that an ended one is asked for its exit and not left behind.
_started: Final[list[subprocess.Popen[bytes]]] = []


class AtWorkError(RuntimeError):
    """A question of this gym is being worked out; the message is a sentence."""

    def __init__(self) -> None:
        super().__init__("The last question is still being worked out: wait until it is answered.")


@dataclass(frozen=True, slots=True)
class Told:
    """A class, and what came of it: None as long as, or because, nothing did."""

    name: str
    on: date
    pair: Pair | None = None
    done: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """The last question of a gym: what was asked, how far it is, whether somebody is still at work on it."""

    month: Month
    change: Change
    classes: tuple[Told, ...]
    found: int
    at_work: bool

    @property
    def done(self) -> int:
        """How many classes are worked out, with or without a plan."""
        return sum(told.done for told in self.classes)

    @property
    def cut_short(self) -> bool:
        """Whether the process ended before it had come to the last class."""
        return not self.at_work and self.done < len(self.classes)

    @property
    def known(self) -> tuple[Told, ...]:
        """The classes with plans."""
        return tuple(told for told in self.classes if told.pair)


def start(*, gym: Gym, past: PastClasses, change: Change) -> None:
    """Have a question worked out; returns at once. Raises AtWorkError and `what_if.NothingToChangeError`."""
    pairs = [(each.ask, changed(each.ask, change, bar=past.bar)) for each in past.classes]
    job = {
        "minutes": [USUAL.rotation_minutes, USUAL.reset_minutes],
        "classes": [[written_ask(ask) for ask in pair] for pair in pairs],
    }
    with _locked(gym) as lock:
        path = _path(gym)
        path.write_text(json.dumps(_head(past, change)) + "\n", encoding="utf-8")
        path.chmod(0o600)
        with TemporaryFile("w+b") as asked, path.open("ab") as answers:
            asked.write(json.dumps(job).encode())
            asked.seek(0)
            _spawn(asked, answers, lock)


def last_run(gym: Gym) -> Run | None:
    """Return the gym's last question as far as it is answered, None where there is none that can be read."""
    # First whether somebody is at work: who ends in between has then written all.
    at_work = _at_work(gym)
    try:
        head, *lines = _path(gym).read_text(encoding="utf-8").split("\n")
        return _run(json.loads(head), lines[:-1], at_work=at_work)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _head(past: PastClasses, change: Change) -> dict[str, object]:
    return {
        "month": [past.month.year, past.month.number],
        "change": asdict(change),
        "classes": [[each.name, each.on.isoformat()] for each in past.classes],
        "found": past.found,
    }


def _run(head: dict[str, object], lines: list[str], *, at_work: bool) -> Run:
    # A last line without its end is not whole yet, and is not among them.
    answers = [json.loads(line) for line in lines]
    classes: list[list[str]] = head["classes"]  # type: ignore[assignment]  # as written by _head
    told = tuple(
        _told(name, on, answers[place] if place < len(answers) else None) for place, (name, on) in enumerate(classes)
    )
    month, change = head["month"], head["change"]
    return Run(Month(*month), Change(**change), told, int(str(head["found"])), at_work)  # type: ignore[misc,arg-type]


def _told(name: str, on: str, answer: dict[str, dict[str, int]] | None) -> Told:
    pair = Pair(Practice(**answer["before"]), Practice(**answer["after"])) if answer else None
    return Told(name, date.fromisoformat(on), pair, answer is not None)


# ---- The process ----------------------------------------------------------------------------------------------------


def _path(gym: Gym) -> Path:
    return Path(settings.DATA_DIR, "what_ifs", f"{gym.pk}.jsonl")


@contextmanager
def _lock_file(gym: Gym) -> Iterator[BinaryIO]:
    path = _path(gym).with_suffix(".lock")
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with path.open("ab") as file:
        yield file


@contextmanager
def _locked(gym: Gym) -> Iterator[BinaryIO]:
    """Take the gym's lock and give its file: whoever inherits that holds the lock too. Raises AtWorkError."""
    with _lock_file(gym) as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise AtWorkError from error
        yield file


def _at_work(gym: Gym) -> bool:
    with _lock_file(gym) as file:
        try:
            fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        return False


def _spawn(asked: BinaryIO, answers: BinaryIO, lock: BinaryIO) -> None:
    """Start the process in the server's session: where work is shared out by session, being nice counts within it."""
    _started[:] = [each for each in _started if each.poll() is None]
    _started.append(
        subprocess.Popen(
            CHILD,
            stdin=asked,
            stdout=answers,
            stderr=subprocess.DEVNULL,
            cwd=settings.BASE_DIR,
            pass_fds=[lock.fileno()],
        )
    )
