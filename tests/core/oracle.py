"""The slow second opinion on readiness: trees of conditions, states, flags, trouble, clearance.

Every question is answered at ONE moment, from the facts alone, by a function that says one sentence of the
rules: no timeline, no sorted index, no running total. Whatever it needs of another step it asks again of that
step. The only help is ``lru_cache``: the same question about the same book gets the same answer.
"""

from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import Literal, NamedTuple

from skills.core.criteria import AllOf, AnyOf, AtLeastOf, Branch, Criterion, StepPassed
from skills.core.facts import Attempt, History, SignOff
from skills.core.steps import Rules
from tests.core.oracle_counting import (
    Book,
    Leaf,
    counted,
    first_moment_on_or_after,
    is_leaf_met,
    is_open,
    is_success,
    is_under_caution,
    is_voided,
    local_date,
    remembered,
    successes,
)

Gate = Literal["entrance", "finish"]
DECISION_RANK = {"passed": 0, "not_yet": 1, "revoked": 2}
GATE_RANK = {"entrance": 0, "finish": 1}


class Seen(NamedTuple):
    """What stands for one step at one moment."""

    state: str
    base: str
    clearance: str
    awaits: str
    flags: tuple[str, ...]
    trouble: bool


# -- trees at one moment -----------------------------------------------------------------------


@remembered
def is_met(book: Book, code: str, criterion: Criterion, us: int) -> bool:
    """The whole tree, from the counted attempts that have happened."""
    if isinstance(criterion, AllOf):
        return all(is_met(book, code, child, us) for child in criterion.conditions)
    if isinstance(criterion, AnyOf):
        return any(is_met(book, code, child, us) for child in criterion.conditions)
    if isinstance(criterion, AtLeastOf):
        return [is_met(book, code, child, us) for child in criterion.conditions].count(True) >= criterion.count
    if isinstance(criterion, StepPassed):
        return base_at(book, criterion.step, us) == "passed"
    return is_leaf_met(book, code, criterion, us)


def criterion_at(book: Book, code: str, us: int) -> Criterion | None:
    """The criterion in force: the latest to have begun, of two at once the higher version."""
    begun = [item for item in book.rule(code).criteria if item.from_us <= us]
    return max(begun, key=lambda item: (item.from_us, item.version)).criterion if begun else None


def version_at(book: Book, code: str, us: int) -> int | None:
    """The version number of the criterion in force."""
    begun = [item for item in book.rule(code).criteria if item.from_us <= us]
    return max(begun, key=lambda item: (item.from_us, item.version)).version if begun else None


def is_met_in_force(book: Book, code: str, us: int) -> bool:
    """The criterion in force at this moment is met at this moment."""
    criterion = criterion_at(book, code, us)
    return criterion is not None and is_met(book, code, criterion, us)


def leaves(criterion: Criterion) -> Iterator[Leaf | StepPassed]:
    """All leaves in reading order."""
    if isinstance(criterion, Branch):
        for child in criterion.conditions:
            yield from leaves(child)
    else:
        yield criterion


def evidence_of(book: Book, code: str, criterion: Criterion, us: int) -> set[str]:
    """The attempts that carry a met tree; for an unmet one, all that was gathered for any of its leaves."""
    if isinstance(criterion, Branch) and is_met(book, code, criterion, us):
        carrying = [child for child in criterion.conditions if is_met(book, code, child, us)]
        return {attempt for child in carrying for attempt in evidence_of(book, code, child, us)}
    attempt_leaves = [leaf for leaf in leaves(criterion) if not isinstance(leaf, StepPassed)]
    return {attempt.id for leaf in attempt_leaves for attempt in successes(book, code, leaf, us)}


def evidence_at(book: Book, code: str, us: int) -> tuple[str, ...]:
    """Sorted ids of the attempts that stand as evidence for the criterion in force."""
    criterion = criterion_at(book, code, us)
    return () if criterion is None else tuple(sorted(evidence_of(book, code, criterion, us)))


# -- decisions ---------------------------------------------------------------------------------


def decisions(book: Book, code: str, gate: Gate, us: int) -> list[SignOff]:
    """Decisions of a gate up to now, oldest first; of several at once a revocation comes last."""
    made = [s for s in book.history.sign_offs if s.step == code and s.gate == gate and s.happened_us <= us]
    return sorted(made, key=lambda s: (s.happened_us, DECISION_RANK[s.decision], s.id))


def latest(book: Book, code: str, gate: Gate, us: int) -> SignOff | None:
    """The last decision of a gate."""
    return next(reversed(decisions(book, code, gate, us)), None)


def pass_in_force(book: Book, code: str, gate: Gate, us: int) -> SignOff | None:
    """The last decision of a gate if it says passed."""
    decision = latest(book, code, gate, us)
    return decision if decision is not None and decision.decision == "passed" else None


# -- base state --------------------------------------------------------------------------------


@remembered
def beginnings(book: Book) -> tuple[int, ...]:
    """Moments at which a criterion can begin to be met: passing time alone takes away and never adds."""
    facts = book.history
    happenings = [f.happened_us for kind in (facts.attempts, facts.openings, facts.sign_offs) for f in kind]
    starts = [item.from_us for rule in book.rules.steps.values() for item in rule.criteria]
    return tuple(sorted({0, *happenings, *starts}))


@remembered
def pass_moment(book: Book, code: str) -> int | None:
    """An automatic step passes at the first moment at which it is open and its criterion is met."""
    return next((us for us in beginnings(book) if is_open(book, code, us) and is_met_in_force(book, code, us)), None)


def passed_since(book: Book, code: str, us: int) -> int | None:
    """The moment of passing that holds now, or None."""
    if book.rule(code).needs_sign_off:
        decision = pass_in_force(book, code, "finish", us)
        return None if decision is None else decision.happened_us
    moment = pass_moment(book, code)
    return moment if moment is not None and moment <= us else None


def is_ready(book: Book, code: str, us: int) -> bool:
    """The criterion is met and, after a decision, by something newer than the decision."""
    if not is_met_in_force(book, code, us):
        return False
    decision = latest(book, code, "finish", us)
    if decision is None:
        return True
    evidence = evidence_at(book, code, us)
    return any(a.happened_us > decision.happened_us for a in counted(book, code) if a.id in evidence)


def shows(book: Book, code: str, attempt: Attempt) -> bool:
    """The attempt succeeds by itself for some leaf of the criterion in force at its time."""
    criterion = criterion_at(book, code, attempt.happened_us)
    if criterion is None:
        return False
    return any(not isinstance(leaf, StepPassed) and is_success(attempt, leaf) for leaf in leaves(criterion))


def last_shown(book: Book, code: str, since: int, us: int) -> int:
    """The last time that the step was passed or shown again."""
    shown = [a.happened_us for a in counted(book, code) if since <= a.happened_us <= us and shows(book, code, a)]
    return max([since, *shown])


def is_due_for_recheck(book: Book, code: str, since: int, us: int) -> bool:
    """So many local dates have come since the step was last shown."""
    days = book.rule(code).recheck_days
    zone = book.rules.zone
    shown = last_shown(book, code, since, us)
    return days is not None and local_date(us, zone) >= local_date(shown, zone) + timedelta(days=days)


@remembered
def base_at(book: Book, code: str, us: int) -> str:
    """The state without the mask of a caution."""
    if not is_open(book, code, us):
        return "closed"
    since = passed_since(book, code, us)
    if since is not None:
        return "recheck" if is_due_for_recheck(book, code, since, us) else "passed"
    return "ready" if book.rule(code).needs_sign_off and is_ready(book, code, us) else "working"


# -- flags, trouble, clearance -----------------------------------------------------------------


def has_voided_evidence(book: Book, code: str, us: int) -> bool:
    """A pass in force at either gate rests on a voided attempt."""
    passes = (pass_in_force(book, code, "entrance", us), pass_in_force(book, code, "finish", us))
    return any(is_voided(book, attempt) for decision in passes if decision for attempt in decision.evidence)


def was_not_met(book: Book, code: str, us: int) -> bool:
    """The finish was signed off while, as known now, the criterion of that moment was not met."""
    decision = pass_in_force(book, code, "finish", us)
    return decision is not None and not is_met_in_force(book, code, decision.happened_us)


def has_fallen_prerequisite(book: Book, code: str, us: int) -> bool:
    """Some required step is no longer passed."""
    return any(base_at(book, step, us) not in {"passed", "recheck"} for step in book.rule(code).requires)


def flags_at(book: Book, code: str, us: int) -> tuple[str, ...]:
    """Words for the coach, in alphabetical order; a closed step has none."""
    if not is_open(book, code, us):
        return ()
    words = {
        "evidence_voided": has_voided_evidence(book, code, us),
        "not_met_in_hindsight": was_not_met(book, code, us),
        "prerequisite_fell": has_fallen_prerequisite(book, code, us),
    }
    return tuple(sorted(word for word, holds in words.items() if holds))


@remembered
def is_troubled(book: Book, code: str, us: int) -> bool:
    """Due for a re-check, flagged or revoked; or something required is."""
    decision = latest(book, code, "finish", us)
    return (
        base_at(book, code, us) == "recheck"
        or bool(flags_at(book, code, us))
        or (decision is not None and decision.decision == "revoked")
        or any(is_troubled(book, step, us) for step in book.rule(code).requires)
    )


def is_hazard(book: Book, code: str) -> bool:
    """The step is inverted, or follows one that is."""
    rule = book.rule(code)
    return rule.inverted or any(is_hazard(book, step) for step in rule.requires)


def granted_clearance(book: Book, code: str, us: int) -> str:
    """The clearance of the last pass at either gate that was not taken back at the same gate afterwards.

    A finish is taken back by anything but a pass, an entrance by a revocation alone.
    """
    if not book.rule(code).asks_clearance or not is_open(book, code, us):
        return ""
    standing: list[SignOff] = []
    for gate in ("entrance", "finish"):
        made = decisions(book, code, gate, us)
        taking_back = {"revoked"} if gate == "entrance" else {"revoked", "not_yet"}
        taken_back = [place for place, s in enumerate(made) if s.decision in taking_back]
        kept_from = taken_back[-1] + 1 if taken_back else 0
        standing += [s for s in made[kept_from:] if s.decision == "passed"]
    last = max(standing, key=lambda s: (s.happened_us, GATE_RANK[s.gate], s.id), default=None)
    return last.clearance if last else ""


def clearance_at(book: Book, code: str, us: int) -> str:
    """What the athlete may do now; trouble at or below an inverted step brings the spotter back."""
    if shown_state(book, code, us) in {"paused", "closed"}:
        return ""
    granted = granted_clearance(book, code, us)
    lowered = granted != "" and is_hazard(book, code) and is_troubled(book, code, us)
    return "spotted" if lowered else granted


# -- what is shown -----------------------------------------------------------------------------


def shown_state(book: Book, code: str, us: int) -> str:
    """A caution pauses an open step; a closed one stays closed."""
    base = base_at(book, code, us)
    return "paused" if base != "closed" and is_under_caution(book, code, us) else base


def awaits_at(book: Book, code: str, us: int) -> str:
    """Which gate waits for a coach."""
    rule, base = book.rule(code), base_at(book, code, us)
    if base == "ready":
        return "finish"
    asked = base == "closed" and rule.asks_clearance
    return "entrance" if asked and all(base_at(book, step, us) == "passed" for step in rule.requires) else ""


def seen_at(book: Book, code: str, us: int) -> Seen:
    """Everything that the timeline says of a step at this moment."""
    return Seen(
        state=shown_state(book, code, us),
        base=base_at(book, code, us),
        clearance=clearance_at(book, code, us),
        awaits=awaits_at(book, code, us),
        flags=flags_at(book, code, us),
        trouble=is_troubled(book, code, us),
    )


def state_at(rules: Rules, history: History, code: str, us: int) -> Seen:
    """The same, from nothing."""
    return seen_at(Book(rules, history), code, us)


def oracle_timeline(rules: Rules, history: History, code: str, moments: Iterable[int]) -> tuple[tuple[int, Seen], ...]:
    """What stands at every given moment and one microsecond on either side, in order of time."""
    book = Book(rules, history)
    return tuple((us, seen_at(book, code, us)) for us in either_side(moments))


def due_openings(rules: Rules, history: History, as_of_us: int) -> set[tuple[str, int]]:
    """Never opened steps that need no coach for it, and the first moment with all they require passed."""
    book = Book(rules, history)
    opened = {opening.step for opening in history.openings}
    due = set()
    for code, rule in rules.steps.items():
        if not rule.requires or rule.asks_clearance or code in opened:
            continue
        moments = [us for us in beginnings(book) if us <= as_of_us]
        passed = [us for us in moments if all(base_at(book, step, us) == "passed" for step in rule.requires)]
        due |= {(code, min(passed))} if passed else set()
    return due


# -- moments worth looking at ------------------------------------------------------------------


def either_side(moments: Iterable[int]) -> list[int]:
    """Each moment, the microsecond before and the microsecond after."""
    return sorted({max(0, us + shift) for us in moments for shift in (-1, 0, 1)})


def candidate_moments(rules: Rules, history: History) -> set[int]:
    """Every moment of a fact or a rule, and every start of a local day until long after the last of them."""
    moments = set(beginnings(Book(rules, history)))
    for caution in history.cautions:
        moments |= {caution.from_us} | ({caution.until_us} if caution.until_us is not None else set())
    moments |= {fact.happened_us for kind in (history.lifts, history.voids) for fact in kind}
    return moments | set(day_starts_around(rules, moments - {0}))


def day_starts_around(rules: Rules, moments: set[int]) -> Iterator[int]:
    """Starts of the local days from the first moment until every window and re-check has run out."""
    if not moments:
        return
    first, last = local_date(min(moments), rules.zone), local_date(max(moments), rules.zone)
    for offset in range((last - first).days + longest_days(rules) + 2):
        yield first_moment_on_or_after(first + timedelta(days=offset), rules.zone)


def longest_days(rules: Rules) -> int:
    """The longest window or re-check interval of all steps."""
    rechecks = [rule.recheck_days or 0 for rule in rules.steps.values()]
    criteria = [item.criterion for rule in rules.steps.values() for item in rule.criteria]
    found = [leaf for criterion in criteria for leaf in leaves(criterion)]
    windows = [leaf.counting.window_days or 0 for leaf in found if not isinstance(leaf, StepPassed)]
    return max([0, *rechecks, *windows])
