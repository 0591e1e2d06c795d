"""Why an athlete stands as they do, in words: what the page and the command `explain` both say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import singledispatch
from typing import Final

from athletes.core.zones import zone_named
from skills import rule_words, wording
from skills.core import reasons
from skills.core.accounts import Account, Hindsight
from skills.core.days import moment_of, moment_us
from skills.core.facts import Attempt, Caution, Opening, SignOff
from skills.core.moments import Oddness
from skills.core.reasons import Reason, Verdict
from skills.queries.books import StepPage
from skills.queries.whys import Rows, Shown, Why

KNOWN: Final[Mapping[str, str]] = {"then": "as it was known then", "now": "as it is known now"}
GATES: Final[Mapping[str, str]] = {"entrance": "may try it", "finish": "has it"}
DECISIONS: Final[Mapping[str, str]] = {"passed": "passed", "not_yet": "not yet", "revoked": "revoked"}
ODD_HOURS: Final[Mapping[Oddness, str]] = {
    "": "",
    "earlier": "The clocks went back that night and showed this hour twice: this is the earlier one.",
    "later": "The clocks went back that night and showed this hour twice: this is the later one.",
    "skipped": "The clocks went forward that night and left this hour out: this is as long after the change.",
}
_BEARS: Final[Mapping[str, str]] = {
    "criterion": "for the criterion",
    "passing": "it passed on this",
    "entrance": "the clearance to try it rests on it",
    "finish": "the sign-off rests on it",
}
_KINDS: Final[Mapping[str, str]] = {"hold": "a hold", "reps": "reps", "angle": "a measured angle"}


@dataclass(frozen=True, slots=True)
class AttemptLine:
    """An attempt as a line: what was done, and why it counts or not."""

    when: str
    step: str
    result: str
    how: str
    source: str
    by: str
    session: str
    why: str


@dataclass(frozen=True, slots=True)
class DecisionLine:
    """A decision as a line; `stands` when it is the one in force at its gate."""

    when: str
    gate: str
    decision: str
    clearance: str
    by: str
    reason: str
    rule_number: int
    attempts: int
    stands: bool


@dataclass(frozen=True, slots=True)
class WhyWords:
    """An account in words. `state` is the code of the state, "" where the step was not in the book."""

    who: str
    step: str
    as_of: str
    known: str
    learned: tuple[str, ...]
    state: str
    state_words: str
    since: str
    clearance: str
    flags: tuple[str, ...]
    criterion: str
    missing: tuple[str, ...]
    counted: tuple[AttemptLine, ...]
    counted_left_out: int
    not_counted: tuple[AttemptLine, ...]
    not_counted_left_out: int
    decisions: tuple[DecisionLine, ...]
    openings: tuple[str, ...]
    cautions: tuple[str, ...]


def why_words(why: Why) -> WhyWords:
    """Tell an account; free texts are told too, for pages of the gym's staff."""
    terms = wording.terms_of(why.book)
    account = why.account
    now = account.standing.now if account else None
    return WhyWords(
        who=f"{why.athlete.number} {why.athlete.board_name}",
        step=f"{why.page.label} {why.page.name}",
        as_of=clock(why.as_of_us, terms),
        known=KNOWN[why.known],
        learned=tuple(learned(why.hindsight)),
        state=now.state if now else "",
        state_words=wording.STATES[now.state] if now else "This step was not in the gym's book yet.",
        since=_since(account, terms) if account else "",
        clearance=wording.CLEARANCES[now.clearance] if now and now.clearance else "",
        flags=tuple(wording.FLAGS[flag] for flag in now.flags) if now else (),
        criterion=criterion_words(account, why.page, terms) if account else "",
        missing=tuple(wording.missing_sentences(account.standing.missing, terms)) if account else (),
        counted=_lines(why.counted, why, terms),
        counted_left_out=why.counted.left_out,
        not_counted=_lines(why.not_counted, why, terms),
        not_counted_left_out=why.not_counted.left_out,
        decisions=tuple(decision_line(each, account, why.rows, terms) for each in account.sign_offs) if account else (),
        openings=tuple(_opening(each, terms) for each in account.openings) if account else (),
        cautions=tuple(caution_line(each, why.rows, terms) for each in account.cautions) if account else (),
    )


def clock(us: int, terms: wording.Terms) -> str:
    """Return a moment on the gym's clock, as '3 Nov 2026 18:05'."""
    return f"{terms.day(us)} {moment_of(us).astimezone(zone_named(terms.zone)):%H:%M}"


def criterion_words(account: Account, page: StepPage, terms: wording.Terms) -> str:
    """Return the criterion in force with its number: 'Criterion 2, in force since 3 Nov 2026 18:05: three clean …'."""
    in_force = account.criterion
    if in_force is None:
        return ""
    since = "from the beginning" if in_force.from_us <= 0 else f"in force since {clock(in_force.from_us, terms)}"
    return f"Criterion {in_force.version}, {since}: {rule_words.rule(in_force.criterion, terms.of_step(page))}."


def _since(account: Account, terms: wording.Terms) -> str:
    return "from the beginning" if account.since_us <= 0 else f"since {clock(account.since_us, terms)}"


def _lines(shown: Shown, why: Why, terms: wording.Terms) -> tuple[AttemptLine, ...]:
    return tuple(_line(verdict, why, terms) for verdict in shown.verdicts)


def _line(verdict: Verdict, why: Why, terms: wording.Terms) -> AttemptLine:
    attempt, page = verdict.attempt, why.pages[verdict.attempt.step]
    row = why.rows.attempts[attempt.id]
    return AttemptLine(
        when=clock(attempt.happened_us, terms),
        step=f"{page.label} {page.name}" if attempt.step != why.page.code else "",
        result=result_words(attempt, page),
        how=wording.how_done(attempt, page),
        source=wording.SOURCES[attempt.source],
        by=row.logged_by.person.full_name,
        session=row.session.name if row.session else "outside a class",
        why="; ".join(_why(verdict, page, why.rows, terms)),
    )


def result_words(attempt: Attempt, page: StepPage) -> str:
    """Return '5.2 s', or '3 reps to the chest' where the step is graded."""
    words = wording.result(
        attempt.hold_tenths, attempt.reps, unbroken=attempt.unbroken, angle_degrees=attempt.angle_degrees
    )
    return f"{words} to the {page.grades[attempt.grade - 1]}" if 0 < attempt.grade <= len(page.grades) else words


def _why(verdict: Verdict, page: StepPage, rows: Rows, terms: wording.Terms) -> Iterator[str]:
    for reason in verdict.reasons:
        yield _taken_back(verdict, rows, terms) if isinstance(reason, reasons.TakenBack) else sentence(reason, page)
    for what in verdict.bears:
        if verdict.counts or what != "criterion":
            yield _BEARS[what]


def _taken_back(verdict: Verdict, rows: Rows, terms: wording.Terms) -> str:
    void = rows.voids.get(verdict.attempt.id)
    if void is None:
        return "taken back"
    text = rows.remarks.get(void.remark_commitment, "")
    when = clock(moment_us(void.recorded_at), terms)
    return f"taken back on {when} by {void.voided_by.person.full_name}" + (f": {text}" if text else "")


def decision_line(sign_off: SignOff, account: Account, rows: Rows, terms: wording.Terms) -> DecisionLine:
    """Tell a decision at one of the gates."""
    row = rows.sign_offs[sign_off.id]
    return DecisionLine(
        when=clock(sign_off.happened_us, terms),
        gate=GATES[sign_off.gate],
        decision=DECISIONS[sign_off.decision],
        clearance=wording.CLEARANCES[sign_off.clearance] if sign_off.clearance else "",
        by=row.signed_by.person.full_name,
        reason=rows.remarks.get(row.remark_commitment, ""),
        rule_number=sign_off.criterion_version,
        attempts=len(sign_off.evidence),
        stands=sign_off.id in account.in_force,
    )


def _opening(opening: Opening, terms: wording.Terms) -> str:
    return f"opened on {clock(opening.happened_us, terms)}"


def caution_line(caution: Caution, rows: Rows, terms: wording.Terms) -> str:
    """Tell a caution: 'no hanging, straight-arm, from 3 Nov 2026 18:05 until it is lifted'."""
    loads = ", ".join(load.replace("_", "-") for load in sorted(caution.loads))
    until = "until it is lifted" if caution.until_us is None else f"until {clock(caution.until_us, terms)}"
    text = rows.remarks.get(rows.cautions[caution.id].remark_commitment, "") if caution.id in rows.cautions else ""
    return f"no {loads}, from {clock(caution.from_us, terms)} {until}" + (f" ({text})" if text else "")


def learned(seen: Hindsight) -> Iterator[str]:
    """Say, a sentence each, what was recorded later about what had happened by then."""
    were = (
        (seen.taken_back, "attempt", "taken back later"),
        (seen.entered_late, "attempt", "entered later"),
        (seen.decided_late, "decision", "entered later"),
        (seen.opened_late, "opening", "entered later"),
        (seen.cautions_late, "caution or lifting of one", "entered later"),
    )
    for number, noun, what in were:
        if number:
            plural = noun.replace("caution or lifting of one", "cautions or liftings") if number > 1 else noun
            plural += "s" if number > 1 and plural == noun else ""
            yield f"{wording.number_word(number).capitalize()} {plural} {'was' if number == 1 else 'were'} {what}."
    if seen.rule_changed:
        yield "The step, or its criterion, was changed later."
    if seen.stands_otherwise and not any(each[0] for each in were) and not seen.rule_changed:
        yield "Something about a step that leads here was learned later."


@singledispatch
def sentence(reason: Reason, page: StepPage) -> str:
    """Return why an attempt does not count, in a few words; `page` knows the names of its step."""
    message = f"no words for {reason!r} ({page.code})"
    raise TypeError(message)


@sentence.register
def _(_reason: reasons.TakenBack, _page: StepPage) -> str:
    return "taken back"


@sentence.register
def _(_reason: reasons.StepClosed, _page: StepPage) -> str:
    return "the step was closed"


@sentence.register
def _(reason: reasons.UnderCaution, _page: StepPage) -> str:
    return "under a caution: no " + ", ".join(load.replace("_", "-") for load in reason.loads)


@sentence.register
def _(reason: reasons.NotJudged, _page: StepPage) -> str:
    return f"{wording.SOURCES[reason.source]}: here a coach has to watch"


@sentence.register
def _(reason: reasons.OtherEntry, _page: StepPage) -> str:
    return f"{wording.SOURCES[reason.source]}: the criterion takes other entries"


@sentence.register
def _(reason: reasons.WithHelp, _page: StepPage) -> str:
    if reason.assistance == "none":
        return "without help: the criterion asks for tries with help"
    return f"with help: {wording.ASSISTANCES.get(reason.assistance, reason.assistance)}"


@sentence.register
def _(reason: reasons.EasierVariant, page: StepPage) -> str:
    return f"an easier variant: {page.variant_names.get(reason.variant, reason.variant)}"


@sentence.register
def _(reason: reasons.GradedLow, page: StepPage) -> str:
    asked = page.grades[reason.needed - 1] if 0 < reason.needed <= len(page.grades) else str(reason.needed)
    return f"{'graded lower than' if reason.grade else 'not graded, asked is'} {asked}"


@sentence.register
def _(reason: reasons.OtherKind, _page: StepPage) -> str:
    return f"the criterion asks for {_KINDS[reason.asked]}"


@sentence.register
def _(reason: reasons.ShortHold, _page: StepPage) -> str:
    if not reason.tenths:
        return f"not held: asked are {wording.seconds(reason.needed_tenths)}"
    return f"too short: {wording.seconds(reason.tenths)} of {wording.seconds(reason.needed_tenths)}"


@sentence.register
def _(reason: reasons.FewReps, _page: StepPage) -> str:
    return f"too few: {reason.reps} of {wording.counted(reason.needed, 'rep')}"


@sentence.register
def _(_reason: reasons.Broken, _page: StepPage) -> str:
    return "broken: asked are reps without a break"


@sentence.register
def _(reason: reasons.OffAngle, _page: StepPage) -> str:
    return f"{reason.degrees}°: asked are {reason.needed}° or {'more' if reason.bound == 'at_least' else 'less'}"


@sentence.register
def _(reason: reasons.NotClean, page: StepPage) -> str:
    faults, checkpoints = page.fault_names, page.checkpoint_names
    parts = [f"fault: {faults.get(code, code)}" for code in reason.faults]
    parts += [f"not shown: {checkpoints.get(code, code).rstrip('.')}" for code in reason.missed]
    parts += ["with pain"] if reason.pain else []
    return ", ".join(parts)


@sentence.register
def _(reason: reasons.OutsideWindow, _page: StepPage) -> str:
    days = "the day" if reason.days == 1 else f"the window of {reason.days} days"
    return f"outside {days}"


@sentence.register
def _(reason: reasons.NotAmongLast, _page: StepPage) -> str:
    return (
        "no longer the last try"
        if reason.of == 1
        else f"no longer among the last {wording.number_word(reason.of)} tries"
    )


@sentence.register
def _(_reason: reasons.NotNeeded, _page: StepPage) -> str:
    return "good, but the criterion was met in another way"


@sentence.register
def _(_reason: reasons.NothingAsked, _page: StepPage) -> str:
    return "no criterion asked for attempts"
