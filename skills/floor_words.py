"""What tablets on the gym floor are told, as JSON: tiles, the log of a class, the day with all to work offline."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from athletes.access.certificates import skills_signed
from athletes.models import Gym, Membership
from athletes.queries.consents import in_sight
from skills import telling, wording
from skills.core.risk_notes import GENERAL, PLACES
from skills.forms.attempts import VOID_REASONS
from skills.forms.sessions import LOW_BAR_CHECKS, usual_name
from skills.models import Attempt, Step, TrainingSession
from skills.queries import floor
from skills.queries.bars import setting_name, settings_by_name
from skills.queries.books import Book, StepPage, book_of
from skills.queries.class_runs import ClassRun, Doing, run_now
from skills.queries.logs import bars_checked_before
from skills.showing.class_runs import reset_words

Json = dict[str, Any]

PAIN_CHOICES: Final = ("Stop for today", "Rest, then something else", "Go on without this load")


def board_json(session: TrainingSession, now: datetime) -> Json:
    """Return a class whole: the session, its tiles and its log."""
    book = book_of(session.gym)
    # The stamp first: what is stored while the rest is read comes again with the next one.
    stamp, whole = floor.stamp_of(session.gym, now), floor.floor_session(session)
    run = run_now(session, now) if whole.is_planned else None
    return {
        "at": now,
        "stamp": stamp,
        "session": _session_json(session.gym, whole),
        "plan": _plan_json(book, run) if run else None,
        "tiles": tiles_json(book, session, now, run=run),
        "log": log_json(book, session),
    }


def _plan_json(book: Book, run: ClassRun) -> Json:
    """The plan as a tablet goes on by it: where its words are the same for many, they compress well."""
    last, rotations = run.whole.last.row, range(run.lengths.rotations)
    doings = [run.doings(rotation) for rotation in rotations]
    return {
        "number": last.number,
        "rotation": run.clock.rotation,
        "minutes": run.lengths.minutes,
        "turns": [{"at": turn.at, "rotation": turn.rotation} for turn in run.clock.turns],
        "sets": [[reset_words(reset, last.reset_minutes) for reset in run.resets(rotation)] for rotation in rotations],
        "people": {key: [_doing_json(book, each.get(key)) for each in doings] for key in sorted(run.people)},
    }


def _doing_json(book: Book, doing: Doing | None) -> Json | None:
    if doing is None:
        return None
    page = book.steps.get(doing.step)
    return {"place": telling.place_words(doing), "step": page.id if page else None}


def tiles_json(
    book: Book,
    session: TrainingSession,
    now: datetime,
    athlete_ids: Collection[UUID] | None = None,
    run: ClassRun | None = None,
) -> list[Json]:
    """Return the tiles of everybody present, or of those of them; `run` where the plan of the class was read before."""
    return [_tile_json(book, each) for each in floor.floor_tiles(book, session, now, athlete_ids, run)]


def _tile_json(book: Book, floor_tile: floor.FloorTile) -> Json:
    tile, page = floor_tile.tile, floor_tile.tile.in_hand.page
    words = telling.tile_words(book, tile)
    in_hand = next((each for each in floor_tile.opened if each.page is page), None)
    return {
        "id": words.id,
        "number": words.number,
        "name": words.name,
        "step": page.id if page else None,
        "chosen": floor_tile.chosen,
        "state": words.state,
        "word": words.word,
        "missing": words.missing,
        "back": words.back,
        "instead_of": tile.in_hand.back.instead_of.id if tile.in_hand.back and tile.in_hand.back.instead_of else None,
        "cue": words.cue,
        "note": floor_tile.note,
        "last": words.last,
        "cautions": [telling.caution_words(each).loads for each in tile.in_force],
        "no_consent": floor_tile.no_consent,
        "stopped": [page.id for page in floor_tile.stopped],
        "with": {
            "assistance": (in_hand and in_hand.assistance) or "none",
            "variant": (in_hand and in_hand.variant) or "",
        },
        "open": [_open_json(book, each) for each in floor_tile.opened],
        "skin": words.skin,
        "paused": _paused(book, floor_tile),
        "waiting": [{"step": step.id, "gate": gate, "words": telling.GATES[gate]} for step, gate in floor_tile.waiting],
    }


def _paused(book: Book, floor_tile: floor.FloorTile) -> list[UUID]:
    """The steps that are paused: by the timeline, by a load that is forbidden, and for want of consent."""
    by_time = {each.page.id for each in floor_tile.opened if each.now.state == "paused"}
    forbidden = floor_tile.tile.forbidden
    by_load = {page.id for code, page in book.steps.items() if book.rules.steps[code].loads & forbidden}
    stopped = {page.id for page in floor_tile.stopped}
    return [page.id for page in book.steps.values() if page.id in by_time | by_load | stopped]


def _open_json(book: Book, each: floor.OpenStep) -> Json:
    return {
        "step": each.page.id,
        "state": each.now.state,
        "missing": telling.missing_words(book, each.standing),
        "assistance": each.assistance or "none",
        "variant": each.variant or "",
    }


def log_json(book: Book, session: TrainingSession, attempt_ids: Collection[UUID] | None = None) -> list[Json]:
    """Return the last attempts of a class, or those of them, the newest first."""
    return [_log_row(book, session.gym, attempt) for attempt in floor.log_of(session, attempt_ids)]


def _log_row(book: Book, gym: Gym, attempt: Attempt) -> Json:
    page = book.steps[book.codes[attempt.step_id]]
    return {
        "id": attempt.id,
        "athlete": attempt.athlete_id,
        "step": attempt.step_id,
        "at": attempt.happened_at,
        "words": telling.stored_words(attempt, page),
        "source": attempt.source,
        "is_clean": attempt.is_clean,
        "faults": attempt.faults,
        "missed": attempt.missed,
        "hold_tenths": attempt.hold_tenths,
        "reps": attempt.reps,
        "unbroken": attempt.unbroken,
        "assistance": attempt.assistance,
        "variant": attempt.variant,
        "effort": attempt.effort,
        "pain": attempt.pain,
        "grade": attempt.grade,
        "angle_degrees": attempt.angle_degrees,
        "by": attempt.logged_by.board_name(gym),
        "is_void": getattr(attempt, "void", None) is not None,
        "doubt": attempt.doubt,
    }


# ---- The day --------------------------------------------------------------------------------------------


def today_json(coach: Membership, now: datetime) -> Json:
    """Return all that a tablet keeps to run classes with no network: sessions, athletes, steps, words, bars."""
    gym, steps = coach.gym, _steps_json(coach, now)
    practising = floor.practising_of(gym, now)
    sights = in_sight(practising, now)
    may_sign_off = any(step["may_sign_off"] for step in steps)
    return {
        "at": now,
        "stamp": floor.stamp_of(gym, now),
        "gym": {"id": gym.id, "name": gym.name, "time_zone": gym.time_zone, "asks_consent": gym.asks_consent},
        "coach": {"id": coach.id, "name": coach.board_name(gym), "may_sign_off": may_sign_off},
        "sessions": [_session_json(gym, each) for each in floor.sessions_of_today(gym, now)],
        "usual_name": usual_name(now.astimezone(gym.zone)),
        "athletes": [
            {
                "id": athlete.id,
                "number": athlete.number,
                "name": sights[athlete.id].name,
                "guest": athlete.guest,
                "upside_down": "inversion" not in sights[athlete.id].lacking,
            }
            for athlete in practising
        ],
        "steps": steps,
        "words": _WORDS,
        "bars": [*dict.fromkeys([*settings_by_name(gym), *bars_checked_before(gym)])],
        "bar_checks": [
            {
                "bar": setting_name(check.bar, check.hole),
                "at": check.happened_at,
                "by": check.checked_by.board_name(gym),
            }
            for check in floor.bar_checks_of_today(gym, now)
        ],
    }


_WORDS: Final[Json] = {
    "assistances": [*wording.ASSISTANCES.items()],
    "sources": wording.SOURCES,
    "states": wording.STATES,
    "void_reasons": VOID_REASONS,
    "pain_choices": PAIN_CHOICES,
    "bar_lines": LOW_BAR_CHECKS,
    "risk_notes": [(when, f"{PLACES[place]}: {line}") for when, place, line in GENERAL],
}


def _session_json(gym: Gym, each: floor.FloorSession) -> Json:
    session = each.session
    return {
        "id": session.id,
        "name": session.name,
        "starts_at": session.starts_at,
        "ended_at": session.ended_at,
        "coach": session.coach.board_name(gym),
        "focus": session.focus_id,
        "present": each.present,
        "usual": each.usual,
    }


def _steps_json(coach: Membership, now: datetime) -> list[Json]:
    book, dangerous = book_of(coach.gym), floor.dangerous_faults_of(coach.gym)
    mine = skills_signed(coach, {page.skill_slug for page in book.steps.values()}, now)
    shared = _shared_names(book)
    return [
        _step_json(row, page, dangerous)
        | {"name": shared.get(page.id, page.name), "may_sign_off": page.skill_slug in mine}
        for row in floor.steps_of(coach.gym)
        for page in [book.steps[row.code]]
    ]


def _shared_names(book: Book) -> dict[UUID, str]:
    """Return the names of steps that are called like a step of another skill, each with its skill, by their ids."""
    skills: dict[str, set[str]] = {}
    for page in book.steps.values():
        skills.setdefault(page.name.casefold(), set()).add(page.skill_slug)
    alike = [page for page in book.steps.values() if len(skills[page.name.casefold()]) > 1]
    return {page.id: f"{page.name} ({page.skill_name})" for page in alike}


def _step_json(row: Step, page: StepPage, dangerous: Collection[tuple[UUID, str]]) -> Json:
    return {
        "id": page.id,
        "code": page.code,
        "label": page.label,
        "name": page.name,
        "skill": page.skill_name,
        "is_hold": page.form.is_hold,
        "faults": [
            {"code": code, "name": name, "cue": page.cues.get(code, ""), "dangerous": (page.id, code) in dangerous}
            for code, name in page.faults
        ],
        "checkpoints": [{"code": code, "text": text} for code, text in page.checkpoints],
        "variants": [{"code": code, "name": name} for code, name in page.variants],
        "grades": page.grades,
        "angle": page.form.angle,
        "low_bar": page.form.low_bar_check,
        "inverted": row.inverted,
        "over_bar": row.over_bar,
        "loads": row.loads,
        "cautions": row.cautions,
        "getting_down": row.getting_down,
    }
