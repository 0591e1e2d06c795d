"""Importing a roster in two steps: what a file would do, and then exactly that, once a coach has looked at it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction

from athletes.core.refusal import Refusal
from athletes.core.roster import PersonKey, RosterEntry, RosterLine
from athletes.core.roster_plan import Choice, DoubtfulLine, RosterPlan, Somebody, merged, plan_of
from athletes.models import Athlete, Gym, Membership
from athletes.services.audit import record_act
from athletes.services.measures import differs_from_last, never_noted, note_measures
from athletes.services.roster import add_people, change_person, locked_gym

Choices = Mapping[int, Choice]


class RosterChanged(Refusal):
    """The roster, or the file, is another one than at the preview."""


class LineRefused(Refusal):
    """A line of which nobody said, or not fittingly, who it is."""

    def __init__(self, line: int, sentence: str) -> None:
        super().__init__(sentence)
        self.line = line


@dataclass(frozen=True, slots=True)
class EnrolReport:
    """What an import did: how many were added, stood there already, of these got new measures, were changed or left."""

    added: int
    known: int
    measured: int
    changed: int = 0
    left: int = 0


def preview_roster(*, gym: Gym, lines: Sequence[RosterLine]) -> RosterPlan:
    """Return what these lines would do to the roster as it is now; two queries, or three with measures."""
    return _read(gym, lines).plan


def enrol_previewed(*, by: Membership, lines: Sequence[RosterLine], choices: Choices, seen: str) -> EnrolReport:
    """Do what a preview showed, whose digest is `seen`, with a choice for each doubtful line; in one transaction.

    The same lines a second time change nothing. Of who is known already only a stature or mass that was never noted
    is added. Raises RosterChanged, LineRefused.
    """
    return _store(by.gym, by, lines, choices, seen)


def enrol_from_shell(*, gym: Gym, lines: Sequence[RosterLine], choices: Choices, seen: str) -> EnrolReport:
    """Do the same as the system administrator, who is no member of the gym."""
    return _store(gym, None, lines, choices, seen)


@dataclass(frozen=True, slots=True)
class _Read:
    """A plan, and the athletes that it speaks of by number."""

    plan: RosterPlan
    athletes: Mapping[int, Athlete]

    def choices_of(self, choices: Choices, what: str) -> Iterator[tuple[DoubtfulLine, Choice]]:
        for doubt in self.plan.doubtful:
            if choices[doubt.line.line].what == what:
                yield doubt, choices[doubt.line.line]


def _read(gym: Gym, lines: Sequence[RosterLine]) -> _Read:
    found = Athlete.objects.filter(gym=gym, person__erased_at=None).select_related("person").order_by("number")
    athletes = {athlete.number: athlete for athlete in found}
    roster = [_somebody(athlete) for athlete in athletes.values()]
    known = {who.entry.key: athletes[who.number] for who in roster}
    pairs = {line.line: (known[line.entry.key], line.entry) for line in lines if line.entry.key in known}
    weighed = [pair for pair in pairs.values() if pair[1].stature_m is not None or pair[1].mass_kg is not None]
    new = {athlete.id for athlete, _ in never_noted(gym, weighed)} if weighed else set()
    measured = frozenset(line for line, (athlete, _) in pairs.items() if athlete.id in new)
    return _Read(plan_of(lines, roster, measured), athletes)


def _somebody(athlete: Athlete) -> Somebody:
    person = athlete.person
    entry = RosterEntry(person.full_name, person.birth_on, email=person.email, notes=person.notes)
    return Somebody(entry, number=athlete.number, has_left=athlete.left_on is not None)


@transaction.atomic
def _store(gym: Gym, actor: Membership | None, lines: Sequence[RosterLine], choices: Choices, seen: str) -> EnrolReport:
    gym = locked_gym(gym)
    read = _read(gym, lines)
    if read.plan.digest != seen:
        raise RosterChanged("The roster has changed since this was shown. Nothing was stored: look it over once more.")
    _check(read, choices)
    fresh = sorted((*read.plan.added, *(doubt.line for doubt, _ in read.choices_of(choices, "add"))), key=_place)
    taken = [(read.athletes[choice.number], doubt.line.entry) for doubt, choice in read.choices_of(choices, "take")]
    added = add_people(gym, [line.entry for line in fresh])
    note_measures(gym, [(athlete, line.entry) for athlete, line in zip(added, fresh, strict=True)])
    known = [(read.athletes[each.who.number], each.line.entry) for each in read.plan.known if each.measured]
    measured = note_measures(gym, known)
    changed = [athlete.id for athlete, entry in taken if _took(gym, athlete, entry)]
    if added or measured or changed:
        content = {"added": [athlete.id for athlete in added], "measured": measured}
        content |= {"changed": changed} if changed else {}
        record_act(gym=gym, actor=actor, act="roster_enrolled", about=gym.id, content=content)
    left = sum(1 for _ in read.choices_of(choices, "leave"))
    return EnrolReport(len(added), len(read.plan.known), measured, len(changed), left)


def _place(line: RosterLine) -> int:
    return line.line


def _took(gym: Gym, athlete: Athlete, entry: RosterEntry) -> bool:
    """Give somebody the details of a line; return whether anything is another than before."""
    changed = bool(change_person(athlete.person, merged(_somebody(athlete).entry, entry)))
    return bool(differs_from_last(athlete, entry) and note_measures(gym, [(athlete, entry)])) or changed


def _check(read: _Read, choices: Choices) -> None:
    """Raise LineRefused where a choice is missing or does not fit, or where two would be the same."""
    for doubt in read.plan.doubtful:
        numbers = {each.who.number for each in doubt.resembles}
        choice = choices.get(doubt.line.line)
        fits = choice and (
            choice.what == "add" or (choice.number in numbers and (choice.number or choice.what == "leave"))
        )
        if not fits:
            raise LineRefused(doubt.line.line, f"Choose who line {doubt.line.line} is.")
    _check_each_once(read, choices)


def _check_each_once(read: _Read, choices: Choices) -> None:
    takes = list(read.choices_of(choices, "take"))
    chosen = Counter(choice.number for _, choice in takes)
    keys = {number: _somebody(athlete).entry.key for number, athlete in read.athletes.items()}
    new = {
        doubt.line.line: merged(_somebody(read.athletes[choice.number]).entry, doubt.line.entry)
        for doubt, choice in takes
    }
    keys |= {choice.number: new[doubt.line.line].key for doubt, choice in takes}
    fresh = (*read.plan.added, *(doubt.line for doubt, _ in read.choices_of(choices, "add")))
    often: Counter[PersonKey] = Counter([*keys.values(), *(line.entry.key for line in fresh)])
    for doubt, choice in takes:
        if chosen[choice.number] > 1:
            raise LineRefused(doubt.line.line, f"Number {choice.number} cannot take the details of two lines.")
        if often[new[doubt.line.line].key] > 1:
            raise LineRefused(doubt.line.line, "With these details there would be two of this name and birth date.")
