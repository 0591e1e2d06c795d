"""Sentences about people and rosters, one place for pages and commands."""

from __future__ import annotations

from datetime import date

from athletes.core.certificates import CertificateLine, ends_soon
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


def certificate_words(line: CertificateLine, today: date) -> str:
    """Say how a certificate stands: 'First aid: good until 30 June 2026, which is soon.'."""
    return f"{line.words[:1].upper()}{line.words[1:]}: {_how_it_stands(line, today)}."


def _how_it_stands(line: CertificateLine, today: date) -> str:
    if not line.good and not line.lapsed:
        return f"good from {day_words(line.valid_from)} on"
    if line.valid_until is None:
        return "good, without end"
    last = day_words(line.valid_until)
    if line.lapsed:
        return f"lapsed, its last day was {last}; the right to sign off ended with it"
    return f"good until {last}" + (", which is soon" if ends_soon(line, today) else "")


def clock_words(offset_ms: int) -> str:
    """Say that a tablet's clock is wrong: 'Its clock is 2 h 5 min behind.'; '' where it is right to half a minute.

    `offset_ms` is the server's clock minus the tablet's.
    """
    minutes = (abs(offset_ms) + 30_000) // 60_000
    if not minutes:
        return ""
    days, hours = divmod(minutes // 60, 24)
    parts = [(days, counted(days, "day")), (hours, f"{hours} h"), (minutes % 60, f"{minutes % 60} min")]
    told = " ".join(words for number, words in parts if number)
    return f"Its clock is {told} {'behind' if offset_ms > 0 else 'ahead'}."


def day_words(day: date) -> str:
    """Return '30 June 2026'."""
    return f"{day.day} {day:%B %Y}"
