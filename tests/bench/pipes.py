"""Talking to a process of ours line by line."""

from __future__ import annotations

from subprocess import Popen


class SilentError(Exception):
    """The process ended, or was started without pipes."""


def say(process: Popen[str], line: str) -> None:
    """Send a line."""
    if process.stdin is None:
        raise SilentError("There is no pipe to it.")
    process.stdin.write(f"{line}\n")
    process.stdin.flush()


def hear(process: Popen[str]) -> str:
    """Wait for a line and return it; raises SilentError where none comes any more."""
    line = process.stdout.readline() if process.stdout else ""
    if not line:
        raise SilentError("It ended without an answer; what it had to say stands above.")
    return line
