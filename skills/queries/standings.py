"""How athletes stand: whole for one, the step in hand for a class, and what waits for a coach."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from athletes.models import Athlete, Gym
from skills.core.days import moment_us
from skills.core.readiness import Standing, StepStanding, evaluate, look_at
from skills.core.timeline import Change, Timeline
from skills.models import StepTimeline
from skills.queries.books import Book, StepPage
from skills.queries.histories import histories_of
from skills.queries.stops import Stops, stops_of
from skills.queries.timelines import Timelines, kept_timelines


def standing_of(book: Book, athlete: Athlete, now: datetime) -> Standing:
    """Return how an athlete stands at every step now, from the facts."""
    history = histories_of(book, [athlete.id])[athlete.id]
    return evaluate(book.rules, history, moment_us(now))


def standing_at(book: Book, athlete: Athlete, code: str, now: datetime) -> StepStanding:
    """Return how an athlete stands at one step now: progress, evidence, what is missing."""
    return standings_at(book, {athlete.id: code}, now)[athlete.id]


def standings_at(book: Book, steps: Mapping[UUID, str], now: datetime) -> Mapping[UUID, StepStanding]:
    """Return how each athlete stands at one step each, in a number of queries that does not grow with them."""
    kept = kept_timelines(book, steps.keys())
    return _look(book, steps, kept, now)


def _look(
    book: Book, steps: Mapping[UUID, str], kept: Mapping[UUID, Timelines], now: datetime
) -> Mapping[UUID, StepStanding]:
    histories = histories_of(book, steps.keys(), set(steps.values()))
    return {
        athlete_id: look_at(book.rules, code, histories[athlete_id], kept[athlete_id], moment_us(now))
        for athlete_id, code in steps.items()
    }


def gate_evidence(book: Book, athlete: Athlete, code: str, gate: str, now: datetime) -> tuple[int, tuple[str, ...]]:
    """Return the criterion version and the attempt ids that a decision at a gate rests on.

    At the finish these are the step's own; at the entrance what the required steps were passed with.
    """
    rule = book.rules.steps[code]
    history = histories_of(book, [athlete.id], {code, *rule.requires})[athlete.id]
    kept = kept_timelines(book, [athlete.id])[athlete.id]
    own = look_at(book.rules, code, history, kept, moment_us(now))
    if gate == "finish":
        return own.criterion_version, own.evidence
    below = (look_at(book.rules, required, history, kept, moment_us(now)) for required in rule.requires)
    return own.criterion_version, tuple(sorted({attempt for standing in below for attempt in standing.evidence}))


def next_step(
    book: Book,
    timelines: Timelines,
    now: datetime,
    focus: str | None = None,
    stopped: Collection[str] = frozenset(),
) -> str | None:
    """Return the code of the step in hand: the focus of the class where it is open, else the next one open.

    Steps come in the order of the gym's skills; of the focus's skill first. Side drills are nobody's next step, nor
    are those at which the athlete is `stopped`.
    """
    us = moment_us(now)
    if focus and focus not in stopped and timelines[focus].at(us).base != "closed":
        return focus
    skill = book.steps[focus].skill_slug if focus else None
    unfinished = [
        code
        for code, page in book.steps.items()
        if not page.side_drill
        and code not in stopped
        and timelines[code].at(us).base in {"working", "ready", "recheck"}
    ]
    unfinished.sort(key=lambda code: book.steps[code].skill_slug != skill)
    return unfinished[0] if unfinished else None


@dataclass(frozen=True, slots=True)
class Back:
    """Somebody who comes back after `days`; `instead_of` is the next step, where the one before it is in hand."""

    days: int
    instead_of: StepPage | None


def hand_out(
    book: Book,
    timelines: Timelines,
    now: datetime,
    *,
    chosen: str | None,
    focus: str | None,
    days_away: int | None,
    stopped: Collection[str],
) -> tuple[str | None, Back | None]:
    """Return the code of the step in hand: the chosen one where a coach chose, else the next one.

    Whoever was away for weeks is handed the step before it, the last one passed of those that it asks for. A step at
    which somebody is `stopped` for want of consent is in hand only where a coach chose it.
    """
    code = chosen or next_step(book, timelines, now, focus, stopped)
    if chosen or code is None or days_away is None:
        return code, None
    before = _step_before(book, timelines, code, now, stopped)
    return before or code, Back(days_away, book.steps[code] if before else None)


def _step_before(book: Book, timelines: Timelines, code: str, now: datetime, stopped: Collection[str]) -> str | None:
    required = set(book.rules.steps[code].requires).difference(stopped)
    passed = {step for step in required if timelines[step].at(moment_us(now)).state in {"passed", "recheck"}}
    return next((step for step in reversed([*book.steps]) if step in passed), None)


@dataclass(frozen=True, slots=True)
class InHand:
    """An athlete's step in hand and how they stand at it; None when everything open is passed.

    `stops` has the name on the board, and the steps that ask for a consent which is lacking.
    """

    athlete: Athlete
    page: StepPage | None
    standing: StepStanding | None
    back: Back | None
    stops: Stops

    @property
    def is_stopped(self) -> bool:
        """Whether the step in hand asks for a consent that is lacking."""
        return self.page is not None and self.page.code in self.stops.codes


def steps_in_hand(
    book: Book,
    athletes: Collection[Athlete],
    now: datetime,
    *,
    chosen: Mapping[UUID, str],
    focus: str | None,
    days_away: Mapping[UUID, int],
) -> list[InHand]:
    """Return the step in hand of each athlete, in a number of queries that does not grow with them."""
    kept = kept_timelines(book, [athlete.id for athlete in athletes])
    stops = stops_of(book, athletes, kept, now)
    hands = {
        key: hand_out(
            book,
            kept[key],
            now,
            chosen=chosen.get(key),
            focus=focus,
            days_away=days_away.get(key),
            stopped=stops[key].codes,
        )
        for key in stops
    }
    standings = _look(book, {key: code for key, (code, _) in hands.items() if code}, kept, now)
    return [
        InHand(
            athlete=athlete,
            page=book.steps[code] if code else None,
            standing=standings.get(athlete.id),
            back=back,
            stops=stops[athlete.id],
        )
        for athlete, (code, back) in ((athlete, hands[athlete.id]) for athlete in athletes)
    ]


@dataclass(frozen=True, slots=True)
class Waiting:
    """A gate that waits for a coach: since `now.from_us`, at `now.awaits`."""

    athlete: Athlete
    page: StepPage
    now: Change


def sign_off_queue(book: Book, gym: Gym, now: datetime) -> list[Waiting]:
    """Return what waits for a coach's decision, the longest waiting first; one query."""
    rows = (
        StepTimeline.objects.filter(gym=gym)
        .exclude(athlete__left_on__lte=now.astimezone(gym.zone).date())
        .select_related("athlete__person", "athlete__gym")
        .order_by("athlete__number")
    )
    waiting = [_waiting(book, row, now) for row in rows]
    return sorted((item for item in waiting if item.now.awaits), key=lambda item: item.now.from_us)


def _waiting(book: Book, row: StepTimeline, now: datetime) -> Waiting:
    page = book.steps[book.codes[row.step_id]]
    return Waiting(row.athlete, page, Timeline.from_json(row.changes).at(moment_us(now)))
