"""`python3 manage.py bench [--json] [--only NAME] [--attempts N]`: how fast it is, as ratios in one run."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from django.core.management import execute_from_command_line
from django.db import connection, connections

from tests.bench.stores import own_store


def main(arguments: Sequence[str]) -> None:
    """Run the bench in a data folder and a database of its own, which are gone afterwards."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
    with own_store() as environ:
        os.environ.update(environ)
        try:
            execute_from_command_line(["manage.py", "bench", *arguments])
        finally:
            _disconnect()


def _disconnect() -> None:
    """Let go of the database before it is dropped; a pool would try to reach it again."""
    connections.close_all()
    if connection.vendor == "postgresql":
        connection.close_pool()  # type: ignore[attr-defined] # this engine's alone


if __name__ == "__main__":
    main(sys.argv[1:])
