"""`manage.py rebuild`, held up inside the transaction of one athlete until a line comes on standard input.

    python -m tests.skills.management.slow_rebuild HELD_UP [arguments of rebuild]

The athlete's timelines are written then, and not committed: the worst moment to end.
"""

import signal
import sys
from importlib import import_module

import django
from django.core.management import execute_from_command_line


def main(held_up: int, *arguments: str) -> None:
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell may have it ignored in what it starts
    django.setup()
    rebuild = import_module("skills.management.commands.rebuild")  # needs the settings
    real, count = rebuild.rebuild_athlete, 0

    def slow(**asked: object) -> tuple[str, ...]:
        nonlocal count
        count += 1
        codes: tuple[str, ...] = real(**asked)
        if count == held_up:
            sys.stdout.write("held up\n")
            sys.stdout.flush()
            sys.stdin.readline()
        return codes

    vars(rebuild)["rebuild_athlete"] = slow
    execute_from_command_line(["manage.py", "rebuild", *arguments])


if __name__ == "__main__":
    main(int(sys.argv[1]), *sys.argv[2:])
