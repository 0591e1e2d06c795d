"""The site as it is served, which kills its own process at an instant of the first acts that a tablet sends.

`DIES_AT` names the instant: "answer" is after the application has made its whole answer and before a byte of it
goes out; "commit 1" is before the first act is committed, all of it written; "commit 2" before the second. Without
it nobody dies.
"""

import os
import signal
from collections.abc import Callable, Iterable
from threading import local
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.signals import post_save

from gymtrack.wsgi import application as site
from skills.models import FloorAct

ACTS = "/api/v1/floor/acts/"
DIES_AT = os.environ.get("DIES_AT", "")


def die() -> None:
    """Kill the server whole, as a cut of the power does: the process that serves and its parent, which started it."""
    os.kill(os.getppid(), signal.SIGKILL)
    os.kill(os.getpid(), signal.SIGKILL)


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Answer as the site does, or die with the answer in hand."""
    answer = site(environ, start_response)
    if DIES_AT == "answer" and (environ["REQUEST_METHOD"], environ["PATH_INFO"]) == ("POST", ACTS):
        made = b"".join(answer)
        assert b'"stored"' in made, made
        die()
    return answer


class Commits:
    """Counts the commits of transactions that have stored an act, and dies at the one that is named, before it."""

    def __init__(self, dies_at: int) -> None:
        self.dies_at, self.count = dies_at, 0
        self.thread = local()
        self.commit = BaseDatabaseWrapper._commit  # type: ignore[attr-defined]
        BaseDatabaseWrapper._commit = lambda connection: self.before(connection)  # type: ignore[attr-defined] # noqa: PLW0108 (unbound)
        post_save.connect(self.note, sender=FloorAct)

    def note(self, **_: object) -> None:
        self.thread.has_act = True

    def before(self, connection: BaseDatabaseWrapper) -> Any:
        if getattr(self.thread, "has_act", False):
            self.thread.has_act = False
            self.count += 1
            if self.count == self.dies_at:
                die()
        return self.commit(connection)


commits = Commits(int(DIES_AT.removeprefix("commit "))) if DIES_AT.startswith("commit ") else None
