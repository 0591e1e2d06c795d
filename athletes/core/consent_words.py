"""What consents mean, in plain words: what a yes lets happen, and what a no changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from athletes.core.consents import ConsentLine, Extent, Standing, who_decides


@dataclass(frozen=True, slots=True)
class Meaning:
    """What it is about, what happens with a yes, and what a no (or taking a yes back) changes."""

    about: str
    without: str


MEANINGS: Final[Mapping[str, Meaning]] = {
    "spotting": Meaning(
        "A coach may put hands on the athlete to help with a try and to catch a fall.",
        "Without it no coach touches the athlete, and nobody is cleared “spotted”. It can be taken back at any moment, "
        "in the middle of a class too.",
    ),
    "inversion": Meaning(
        "The athlete may practise steps that go upside down.",
        "Without it these steps are stopped at once, on every board and tablet. What was logged stays.",
    ),
    "board": Meaning(
        "In a class, everybody in the room sees the board. How the athlete stands there is chosen here; a large number "
        "always does.",
        "Without a word a minor stands by initials, an adult by name. Taken back, initials stand there.",
    ),
    "reports": Meaning(
        "What is printed or exported about one athlete, such as the proof of a day, has the name on it. The monthly "
        "figures name no athlete in any case.",
        "Without it the athlete stands there by initials and number.",
    ),
    "link": Meaning(
        "A private link shows the athlete's progress to whoever opens it, without a log-in.",
        "Without it there is none; taken back, links that were given out stop working at once.",
    ),
    "login": Meaning(
        "With a log-in of their own the athlete sees progress, consents and what is kept about them, on their "
        "own phone.",
        "Without it whoever is too young to decide about their data gets none; taken back, the log-in ends at once.",
    ),
}

EXTENTS: Final[Mapping[Extent, str]] = {
    "full_name": "by full name",
    "initials": "by initials",
    "number": "by the number alone",
}


def said_words(line: ConsentLine) -> str:
    """Return what was said: 'agreed', 'agreed, by initials', 'not agreed'."""
    if not line.given:
        return "not agreed"
    told = next((words for extent, words in EXTENTS.items() if extent == line.extent), "")
    return f"agreed, {told}" if told else "agreed"


def recorded_words(*, given: bool, extent: str) -> str:
    """Return what is told of a word that was just recorded: 'Consent is given, by initials.'."""
    if not given:
        return "Consent is not given, or withdrawn."
    told = next((words for key, words in EXTENTS.items() if key == extent), "")
    return f"Consent is given, {told}." if told else "Consent is given."


def stands_words(line: ConsentLine | None, kind: str, standing: Standing, shown: Extent) -> str:
    """Return how it stands now: 'Agreed', 'Not agreed', 'Nothing said yet'; of the board how somebody is shown."""
    if kind == "board":
        return f"Shown {EXTENTS[shown]}"
    if line is None:
        return "Nothing said yet" + _unsaid(kind, standing)
    if line.counts_for(standing):
        return "Agreed"
    return "Not agreed any more" if line.given else "Not agreed"


def _unsaid(kind: str, standing: Standing) -> str:
    if kind == "reports":
        return ": named, as adults are" if standing.of_age else ": initials stand there, as for minors"
    if kind == "login":
        return ": possible, by their own act" if standing.own_data else ": none before a guardian agrees"
    if kind == "link":
        return ": possible, as for adults" if standing.of_age else ": none, as for minors"
    return ""


def who_has_to_say(line: ConsentLine | None, kind: str, standing: Standing) -> str:
    """Return who has to say it where a yes does not count, because who said it does not decide; else nothing."""
    if line is None or not line.given or line.counts_for(standing):
        return ""
    if who_decides(kind, standing) == "guardian":
        return "For a minor a guardian has to say it."
    return "The athlete is of age now and has to say it themselves."
