"""The plan of a class on one sheet of A4: a row for everybody, a column for each rotation."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from uuid import UUID

from athletes.models import Athlete
from athletes.queries.consents import reported_names, shown_names
from gymtrack.lib.pdf import Value
from skills.models import TrainingSession
from skills.queries.boards import attendances_of
from skills.queries.books import Book
from skills.queries.class_runs import ClassRun, Doing
from skills.showing.class_plans import step_words
from skills.showing.class_runs import ASK, People, led_words, reset_words
from skills.showing.plan_words import CAUTIONS


def plan_sheet(book: Book, session: TrainingSession, run: ClassRun, now: datetime) -> Mapping[str, Value]:
    """Return the values of the sheet: who is here, by the name that may stand on paper; queries do not grow."""
    local, zone = now.astimezone(session.gym.zone), session.gym.zone
    athletes = [row.athlete for row in attendances_of(session) if str(row.athlete_id) in run.people]
    people, names = People.of(book, session, now), names_on_paper(athletes, now)
    begins = {turn.rotation: f"{turn.at.astimezone(zone):%H:%M}" for turn in run.clock.turns}
    rotations = range(run.lengths.rotations)
    return {
        "title": session.name,
        "gym": session.gym.name,
        "day": [local.year, local.month, local.day],
        "on": f"{local.day} {local:%B %Y, %H:%M}, plan {run.whole.last.row.number}",
        "rotations": [{"name": f"Rotation {each + 1}", "begins": begins.get(each, "")} for each in rotations],
        "people": [
            {
                "who": f"{athlete.number} {names[athlete.id]}".rstrip(),
                "cells": [_cell(book, people, str(athlete.id), run.doings(each)) for each in rotations],
            }
            for athlete in athletes
        ],
        "bars": [[*_bars(run, each)] for each in rotations],
        "coaches": [[*_coaches(run, each)] for each in rotations],
        "cautions": [*CAUTIONS],
    }


def names_on_paper(athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, str]:
    """Return names as they may stand on paper: as on a board, in full only where reports may have them; two queries."""
    shown, reported = shown_names(athletes, now), reported_names(athletes, now)
    return {
        athlete.id: reported[athlete.id] if shown[athlete.id] == athlete.person.full_name else shown[athlete.id]
        for athlete in athletes
    }


def _cell(book: Book, people: People, key: str, doings: Mapping[str, Doing]) -> Mapping[str, Value]:
    """Return where and what; `short` is the step's label, for a sheet on which names have no room."""
    doing = doings.get(key)
    if doing is None:
        return {"place": "rest", "step": "", "short": ""}
    place = doing.place.name if doing.hole is None else f"{doing.place.name}, hole {doing.hole}"
    if people.must_ask(key, doing.step):
        return {"place": place, "step": ASK, "short": ASK}
    page = book.steps.get(doing.step)
    return {"place": place, "step": step_words(book, doing.step), "short": page.label if page else doing.step}


def _bars(run: ClassRun, rotation: int) -> Iterator[str]:
    for reset in run.resets(rotation):
        yield reset_words(reset, run.whole.last.row.reset_minutes)


def _coaches(run: ClassRun, rotation: int) -> Iterator[str]:
    posts = run.whole.posts(rotation)
    for key, place in run.places.items():
        if told := led_words([post for post in posts if post.station == key]):
            spot = f" ({place.spot_from})" if place.spot_from else ""
            yield f"{place.name}: {told}{spot}"
