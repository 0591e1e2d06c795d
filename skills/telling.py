"""Rows as the words that coaches' pages show: tiles, attempts, decisions, cautions."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from django.utils import timezone

from athletes.core.consents import WORDS as CONSENTS
from skills import wording
from skills.core.days import moment_of
from skills.core.facts import UNASSISTED
from skills.core.findings import Finding, Paused
from skills.core.readiness import StepStanding
from skills.core.timing_error import Comparison, compare
from skills.queries.boards import Tile, TurnOf
from skills.queries.books import Book, StepPage
from skills.queries.class_runs import Doing
from skills.queries.logs import News
from skills.queries.standings import Back, InHand

if TYPE_CHECKING:
    from athletes.models import Caution
    from skills.models import Attempt, SignOff

GATES: Mapping[str, str] = {"entrance": "may try it", "finish": "has it"}
_SHORT: Mapping[str, str] = {"working": "working", "ready": "ready"}  # a tile has one line for state and last try
_COMPARED: Mapping[Comparison, str] = {
    "longer": "longer than the one before",
    "shorter": "shorter than the one before",
    "same": "about as long as the one before",
}
DECISIONS: Mapping[str, str] = {"passed": "passed", "not_yet": "not yet", "revoked": "revoked"}


def step_name(page: StepPage) -> str:
    """Return a step as '3a Tucked inverted hang'."""
    return f"{page.label} {page.name}"


def when(moment: datetime) -> str:
    """Return a moment in the gym's zone: '18:05' today, else '3 Nov 18:05', with the year where it is another."""
    local, today = timezone.localtime(moment), timezone.localdate()
    clock = f"{local:%H:%M}"
    if local.date() == today:
        return clock
    day = f"{local.day} {local:%b}" if local.year == today.year else f"{local.day} {local:%b %Y}"
    return f"{day} {clock}"


def since(us: int) -> str:
    """Return a moment of the engine in the same words."""
    return when(moment_of(us))


@dataclass(frozen=True, slots=True)
class AttemptWords:
    """An attempt as a row of a table."""

    id: UUID
    when: str
    step: str
    result: str
    quality: str
    help: str
    source: str
    by: str
    effort: str
    note: str
    taken_back: str
    counts: bool
    measures_angle: bool


def attempt_words(
    attempt: Attempt, page: StepPage, *, remarks: Mapping[str, str] | None = None, evidence: Collection[str] = ()
) -> AttemptWords:
    """Tell an attempt; its coach and void should have been read with it."""
    texts = remarks or {}
    void = getattr(attempt, "void", None)
    return AttemptWords(
        id=attempt.id,
        when=when(attempt.happened_at),
        step=step_name(page),
        result=result_words(attempt, page),
        quality=quality_words(attempt, page),
        help=help_words(attempt, page),
        source=wording.measured(attempt.source, attempt.doubt),
        by=attempt.logged_by.person.full_name,
        effort="" if attempt.effort is None else str(attempt.effort),
        note=texts.get(attempt.remark_commitment, ""),
        taken_back=texts.get(void.remark_commitment, "") or "taken back" if void else "",
        counts=str(attempt.id) in evidence,
        measures_angle=bool(page.form.angle),
    )


def result_words(attempt: Attempt, page: StepPage) -> str:
    """Return '5.2 s', or '3 reps to the chest' where the step is graded."""
    words = wording.result(
        attempt.hold_tenths, attempt.reps, unbroken=attempt.unbroken, angle_degrees=attempt.angle_degrees
    )
    return f"{words} to the {page.grades[attempt.grade - 1]}" if attempt.grade else words


def quality_words(attempt: Attempt, page: StepPage) -> str:
    """Return 'clean', or what was wrong."""
    faults, missed = page.fault_names, page.checkpoint_names
    parts = [faults.get(code, code) for code in attempt.faults]
    parts += [f"not shown: {missed.get(code, code).rstrip('.')}" for code in attempt.missed]
    parts += ["pain"] if attempt.pain else []
    return "; ".join(parts) or "clean"


def help_words(attempt: Attempt, page: StepPage) -> str:
    """Return 'no help', or the help and the variant."""
    return with_words(attempt.assistance, attempt.variant, page)


def with_words(assistance: str, variant: str, page: StepPage) -> str:
    """Return the same of what a form says."""
    helped = wording.ASSISTANCES.get(assistance, assistance)
    variant = page.variant_names.get(variant, variant)
    return f"{helped}; {variant}" if variant else helped


def cues_of(attempt: Attempt, page: StepPage) -> list[str]:
    """Return the cues that mend what was wrong."""
    return [page.cues[code] for code in attempt.faults if page.cues.get(code)]


def stored_words(attempt: Attempt, page: StepPage) -> str:
    """Return what was stored as one line; who measured and what helped only where it is not the usual."""
    parts = [result_words(attempt, page), quality_words(attempt, page)]
    parts += [wording.measured(attempt.source, attempt.doubt)] if attempt.source != "judged" or attempt.doubt else []
    return ", ".join([*parts, *_help_if_any(attempt, page)])


def news_words(news: News) -> list[str]:
    """Return a line for each step that an attempt passed, made count again, or opened."""
    told = (("Passed", news.passed), ("Counts again", news.again), ("Opens", news.opened))
    return [f"{lead}: {step_name(page)}" for lead, pages in told for page in pages]


@dataclass(frozen=True, slots=True)
class CautionWords:
    """A caution in force."""

    id: UUID
    loads: str
    until: str
    reason: str


def caution_words(caution: Caution, remarks: Mapping[str, str] | None = None) -> CautionWords:
    """Tell a caution: 'no hanging, straight-arm', and until when."""
    loads = "no " + ", ".join(load.replace("_", "-") for load in caution.loads)
    until = f"until {when(caution.until_at)}" if caution.until_at else "until it is lifted"
    return CautionWords(caution.id, loads, until, (remarks or {}).get(caution.remark_commitment, ""))


@dataclass(frozen=True, slots=True)
class TileWords:
    """A tile of the board."""

    id: UUID
    number: int
    name: str
    step: str
    state: str
    word: str
    back: str
    missing: str
    last: str
    cue: str
    cautions: tuple[str, ...]
    no_consent: str
    skin: str
    turn: str


def tile_words(book: Book, tile: Tile) -> TileWords:
    """Tell a tile. A caution stands on a line of its own, so that it is not said again in what is missing."""
    item = tile.in_hand
    page = item.page
    return TileWords(
        id=item.athlete.id,
        number=item.athlete.number,
        name=item.stops.name,
        step=step_name(page) if page else "",
        state=state_words(item),
        word="no consent" if item.is_stopped else _SHORT.get(state_words(item), ""),
        back=back_words(item.back, page),
        missing=missing_words(book, item.standing, but_pauses=bool(tile.cautions)),
        last=_last(tile, page) if page else "",
        cue=_cue(tile.last_with_fault, page) if tile.last_with_fault and page else "",
        cautions=tuple(caution_words(caution).loads for caution in tile.cautions),
        no_consent=_no_consent(book, item),
        skin=skin_words(tile.skin_until),
        turn=turn_words(tile.turn),
    )


def turn_words(turn: TurnOf | None) -> str:
    """Return 'Now: low bar, hole 7 · then rings' by the plan of the class; '' where it has none, or it is over."""
    if turn is None:
        return ""
    if not turn.is_known:
        return "Not in the plan"
    lead = "First" if turn.is_ahead else "Now"
    after = "last rotation" if turn.is_last else f"then {place_words(turn.then)}"
    return f"{lead}: {place_words(turn.now)} · {after}"


def place_words(doing: Doing | None) -> str:
    """Return 'low bar, hole 7'; 'no place' for who has none in a rotation."""
    if doing is None:
        return "no place"
    return doing.place.name if doing.hole is None else f"{doing.place.name}, hole {doing.hole}"


def _no_consent(book: Book, item: InHand) -> str:
    """Return 'no consent: hands-on spotting, going upside down' as far as it matters at the step in hand."""
    kinds = item.stops.kinds_at(inverted=book.rules.steps[item.page.code].inverted) if item.page else ()
    return f"no consent: {', '.join(CONSENTS[kind] for kind in kinds)}" if kinds else ""


def state_words(item: InHand) -> str:
    """Return the state of the step in hand, by its code: "paused" too for who is stopped for want of consent."""
    if item.is_stopped:
        return "paused"
    return item.standing.now.state if item.standing else ""


def skin_words(until: date | None) -> str:
    """Return 'torn skin, shown until 8 Dec'; '' for none."""
    return f"torn skin, shown until {until.day} {until:%b}" if until else ""


def _last(tile: Tile, page: StepPage) -> str:
    if tile.last is None:
        return ""
    words = last_words(tile.last, page)
    return f"{words} · {compared_words(tile.last, tile.before)}" if tile.before else words


def compared_words(last: Attempt, before: Attempt) -> str:
    """Return how long a hold was beside the one before: what a hand on a stopwatch cannot tell is no difference."""
    return _COMPARED[compare(last.hold_tenths or 0, before.hold_tenths or 0)]


def last_words(attempt: Attempt, page: StepPage) -> str:
    """Return the last try as one line: '4.1 s, Shoulders close, band · 23 Nov 09:22'."""
    parts = [result_words(attempt, page), quality_words(attempt, page), *_help_if_any(attempt, page)]
    parts += [wording.SOURCES["own"]] if attempt.source == "own" else []
    return f"{', '.join(parts)} · {when(attempt.happened_at)}"


def _help_if_any(attempt: Attempt, page: StepPage) -> list[str]:
    return [help_words(attempt, page)] if attempt.assistance != UNASSISTED or attempt.variant else []


def back_words(back: Back | None, page: StepPage | None) -> str:
    """Return 'back after 24 days: begin with 3a Tucked inverted hang' for who comes back; '' for others."""
    if back is None:
        return ""
    begin = f": begin with {step_name(page)}" if page and back.instead_of else ""
    return f"back after {back.days} days{begin}"


def _cue(attempt: Attempt, page: StepPage) -> str:
    return " · ".join(cues_of(attempt, page))


def missing_words(book: Book, standing: StepStanding | None, *, but_pauses: bool = False) -> str:
    """Return what is missing at a step as one line; '' where nothing is."""
    findings: Iterable[Finding] = standing.missing if standing else ()
    kept = tuple(finding for finding in findings if not (but_pauses and isinstance(finding, Paused)))
    return wording.missing_sentence(kept, wording.terms_of(book)) if kept else ""


@dataclass(frozen=True, slots=True)
class DecisionWords:
    """A decision as a row of the history."""

    when: str
    step: str
    gate: str
    decision: str
    clearance: str
    by: str
    reason: str
    rule_number: int
    attempts: int


def decision_words(row: SignOff, page: StepPage, remarks: Mapping[str, str]) -> DecisionWords:
    """Tell a decision."""
    return DecisionWords(
        when=when(row.happened_at),
        step=step_name(page),
        gate=GATES[row.gate],
        decision=DECISIONS[row.decision],
        clearance=wording.CLEARANCES[row.clearance] if row.clearance else "",
        by=row.signed_by.person.full_name,
        reason=remarks.get(row.remark_commitment, ""),
        rule_number=row.criterion.number,
        attempts=len(row.evidence),
    )
