"""Sentences about people and rosters, one place for pages and commands."""

from __future__ import annotations

from athletes.services.roster import EnrolReport


def enrolled(report: EnrolReport) -> str:
    """Say what enrolling did: '3 athletes added, 2 already on the roster (1 with new measures).'."""
    words = f"{counted(report.added, 'athlete')} added, {report.known} already on the roster"
    if report.measured:
        words += f" ({report.measured} with new measures)"
    return f"{words}."


def bad_lines(count: int) -> str:
    """Say how many lines have something wrong with them."""
    return f"{counted(count, 'line')} {'has' if count == 1 else 'have'} something wrong"


def counted(number: int, noun: str) -> str:
    """Return '1 athlete' or '3 athletes'."""
    return f"{number} {noun}{'' if number == 1 else 's'}"
