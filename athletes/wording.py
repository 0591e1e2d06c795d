"""Sentences about people and rosters, one place for pages and commands."""

from __future__ import annotations

from datetime import date

from athletes.core.certificates import CertificateLine, ends_soon
from athletes.core.roster import RosterEntry, RosterLine
from athletes.core.roster_plan import Resemblance, RosterPlan, Somebody, merged
from athletes.services.roster_import import EnrolReport


def enrolled(report: EnrolReport) -> str:
    """Say what enrolling did: '3 athletes added, 2 already on the roster (1 with new measures), 1 changed.'."""
    words = f"{counted(report.added, 'athlete')} added, {report.known} already on the roster"
    if report.measured:
        words += f" ({report.measured} with new measures)"
    words += f", {report.changed} changed" if report.changed else ""
    words += f", {report.left} left as it was" if report.left else ""
    return f"{words}."


def line_words(line: RosterLine) -> str:
    """Say where a row of a file stands and whom it names: 'Line 5: Zoë Berg, born on 30 May 2011'."""
    return f"Line {line.line}: {_entry_words(line.entry)}"


def somebody_words(who: Somebody) -> str:
    """Say whom a line may name: 'number 4, Zoë Berg, birth date not known', 'line 3, Zoë Berg, …'."""
    place = f"number {who.number}" if who.number else f"line {who.line}"
    return f"{place}, {_entry_words(who.entry)}{', who has left' if who.has_left else ''}"


def resemblance_words(line: RosterLine, like: Resemblance) -> str:
    """Say in what a line resembles somebody: 'the same name as number 4, Zoë Berg, born on …, on another day'."""
    shared = {
        "name": _name_shared(line.entry.birth_on, like.who.entry.birth_on),
        "similar": "a similar name and the same birth date",
        "email": "the same e-mail address",
    }
    return f"{' and '.join(shared[reason] for reason in like.reasons)} as {somebody_words(like.who)}"


def choice_words(what: str, line: RosterLine, who: Somebody) -> str:
    """Say what may be chosen of a doubtful line: 'the same person as number 4: leave number 4 as it is'."""
    if not who.number:
        return f"the same person as line {who.line}: leave this line out"
    same = f"the same person as number {who.number}"
    return f"{same}: leave number {who.number} as it is" if what == "leave" else f"{same}: {_taken(line.entry, who)}"


def _taken(entry: RosterEntry, who: Somebody) -> str:
    new = merged(who.entry, entry)
    parts = [words for name, words in _DETAILS.items() if getattr(new, name) != getattr(who.entry, name)]
    return f"take the new details ({', '.join(parts)})" if parts else "take the new details (none is another)"


_DETAILS = {
    "full_name": "name",
    "birth_on": "birth date",
    "email": "e-mail address",
    "notes": "notes",
    "stature_m": "stature",
    "mass_kg": "mass",
}


def _name_shared(one: date | None, other: date | None) -> str:
    if one == other:
        return "the same name"
    return (
        "the same name, but another birth date," if one and other else "the same name, without a birth date to compare,"
    )


def _entry_words(entry: RosterEntry) -> str:
    born = f"born on {day_words(entry.birth_on)}" if entry.birth_on else "birth date not known"
    return ", ".join(part for part in (entry.full_name, born, entry.email) if part)


def import_words(plan: RosterPlan, bad: int) -> str:
    """Say what the button of a preview does: 'Add 3 athletes, decide 1 line, leave out 2 lines'."""
    measured = sum(each.measured for each in plan.known)
    parts = [
        f"add {counted(len(plan.added), 'athlete')}" if plan.added else "",
        f"note {counted(measured, 'new measure')}" if measured else "",
        f"{counted(len(plan.doubtful), 'line')} as chosen" if plan.doubtful else "",
        f"leave out {counted(bad, 'bad line')}" if bad else "",
    ]
    words = ", ".join(part for part in parts if part)
    return f"{words[:1].upper()}{words[1:]}"


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
