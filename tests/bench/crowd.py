"""Eight tablets at once against one: how much comes through, how long the unluckiest waits, and nothing lost."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.urls import reverse

from athletes.models import Athlete
from tests.bench.figures import Figure, Seconds, Timing
from tests.bench.pipes import hear, say
from tests.bench.scenes import Scene, attempts_of, make_scene
from tests.bench.server import served
from tests.bench.tablet import Form

CLIENTS = 8
ROUNDS = 3
_TWICE_EACH = 10  # every tenth form is sent twice, as from a tablet that never saw the answer


@dataclass(frozen=True, slots=True)
class Run:
    """What clients that worked at once did: seconds for each form, and from the first start to the last end."""

    took: Seconds
    lasted: float

    @property
    def each(self) -> float:
        """The seconds of the whole run for each form."""
        return self.lasted / len(self.took)


def eight_clients(attempts: int) -> list[Figure]:
    """Let eight clients and one send as many forms in turns; raises RuntimeError for one lost or stored twice."""
    scene = make_scene(athletes=CLIENTS)
    ones: list[Run] = []
    eights: list[Run] = []
    with served() as port:
        for _ in range(ROUNDS):
            ones.append(_run(scene, port, scene.athletes[:1], attempts))
            eights.append(_run(scene, port, scene.athletes, max(attempts // CLIENTS, 1)))
    waits = [seconds for run in eights for seconds in run.took]
    return [
        Figure(
            "eight_clients_over_one",
            1,
            Timing("eight at once, for each attempt", [run.each for run in eights]),
            Timing("one alone", [run.each for run in ones]),
        ),
        Figure(
            "eight_clients_worst_wait",
            10,
            Timing("the longest that one of eight waited", [max(waits)]),
            Timing("that one of eight waited", waits),
        ),
    ]


def _run(scene: Scene, port: int, athletes: Sequence[Athlete], forms_each: int) -> Run:
    ids = [athlete.id for athlete in athletes]
    works = [_forms(scene, athlete, forms_each) for athlete in athletes]
    before = attempts_of(ids)
    answers = _all_at_once(port, scene, works)
    sent, stored = len({form["id"] for work in works for form in work}), attempts_of(ids) - before
    if stored != sent:
        raise RuntimeError(f"{sent} attempts were sent, and {stored} are stored.")
    took = [seconds for answer in answers for seconds in answer["took"]]
    return Run(took, max(each["ended"] for each in answers) - min(each["began"] for each in answers))


def _forms(scene: Scene, athlete: Athlete, count: int) -> list[Form]:
    forms: list[Form] = []
    for number in range(count):
        forms.append(forms[-1] if number % _TWICE_EACH == 1 else scene.form(athlete, number))
    return forms


def _all_at_once(port: int, scene: Scene, works: Sequence[Sequence[Form]]) -> list[dict[str, Any]]:
    """Start a process for each client, let all go when all are ready, and return their answers."""
    path = reverse("attempt_log", args=[scene.session.id])
    with _clients(len(works)) as clients:
        for client, forms in zip(clients, works, strict=True):
            say(client, json.dumps({"port": port, "cookies": scene.cookies(), "path": path, "forms": forms}))
        for client in clients:
            hear(client)
        for client in clients:
            say(client, "go")
        return [json.loads(hear(client)) for client in clients]


@contextmanager
def _clients(count: int) -> Iterator[list[subprocess.Popen[str]]]:
    """Start tablets as processes; those that something went wrong with end with the others."""
    program, pipe = (sys.executable, "-m", "tests.bench.tablet"), subprocess.PIPE
    clients = [
        subprocess.Popen(program, cwd=settings.BASE_DIR, stdin=pipe, stdout=pipe, text=True) for _ in range(count)
    ]
    try:
        yield clients
    finally:
        for client in clients:
            client.terminate()
            client.communicate()
