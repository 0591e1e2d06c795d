"""The slow second opinion, last part: what is still missing at ONE moment, and how far each leaf is."""

from collections.abc import Iterator
from datetime import timedelta

from skills.core.criteria import AllOf, AnyOf, BestOf, Criterion, HoldsOf, HoldTarget, LastOf, StepPassed
from skills.core.facts import Caution
from skills.core.findings import (
    DueForRecheck,
    Finding,
    Flagged,
    Kind,
    NeedsClearance,
    NeedsSignOff,
    OneOf,
    Paused,
    PrerequisiteMissing,
    Progress,
    StepNotPassed,
    TooFewCleanOfLast,
    TooFewDates,
    TooFewHolds,
    TooFewReps,
    TooFewSessions,
    TooFewSets,
    TooShort,
)
from tests.core.oracle import base_at, criterion_at, flags_at, is_met, last_shown, leaves, passed_since, seen_at
from tests.core.oracle_counting import (
    LEAST_HOLD_TENTHS,
    Book,
    Leaf,
    amount,
    amount_needed,
    counted,
    dates_of,
    first_moment_on_or_after,
    is_active,
    is_clean,
    is_inside,
    is_looked_at,
    is_of_kind,
    local_date,
    sessions_of,
    successes,
)


def missing_at(book: Book, code: str, us: int) -> tuple[Finding, ...]:
    """A pause comes first, flags come last; between them what the state waits for."""
    return (
        *pauses(book, code, us),
        *waits_for(book, code, us),
        *(Flagged(flags) for flags in [flags_at(book, code, us)] if flags),
    )


def waits_for(book: Book, code: str, us: int) -> Iterator[Finding]:
    """What stands between this state and the next."""
    rule, base = book.rule(code), base_at(book, code, us)
    if base == "closed":
        yield from (PrerequisiteMissing(s) for s in rule.requires if base_at(book, s, us) != "passed")
        yield from (NeedsClearance() for _ in range(rule.asks_clearance))
    elif base == "working":
        criterion = criterion_at(book, code, us)
        yield from () if criterion is None else lacks(book, code, criterion, us)
    elif base == "ready":
        yield NeedsSignOff()
    elif base == "recheck":
        yield DueForRecheck(first_moment_of_recheck(book, code, us))


def pauses(book: Book, code: str, us: int) -> Iterator[Paused]:
    """All that is forbidden together, until the last of the cautions ends by itself."""
    if seen_at(book, code, us).state != "paused":
        return
    loads = book.rule(code).loads
    active = [c for c in book.history.cautions if is_active(book, c, us) and c.loads & loads]
    forbidden = frozenset[str]().union(*(caution.loads & loads for caution in active))
    yield Paused(tuple(sorted(forbidden)), end_of_all(active))


def end_of_all(cautions: list[Caution]) -> int | None:
    """The latest end; None when one of them has no end of its own."""
    ends = [caution.until_us for caution in cautions if caution.until_us is not None]
    return max(ends) if len(ends) == len(cautions) else None


def first_moment_of_recheck(book: Book, code: str, us: int) -> int:
    """The start of the local day on which the re-check that is due now fell due."""
    days, since = book.rule(code).recheck_days, passed_since(book, code, us)
    assert days is not None
    assert since is not None
    shown = local_date(last_shown(book, code, since, us), book.rules.zone)
    return first_moment_on_or_after(shown + timedelta(days=days), book.rules.zone)


def lacks(book: Book, code: str, criterion: Criterion, us: int) -> tuple[Finding, ...]:
    """All that the criterion still lacks; a choice lacks one of several things."""
    if is_met(book, code, criterion, us):
        return ()
    if isinstance(criterion, AllOf):
        return tuple(finding for child in criterion.conditions for finding in lacks(book, code, child, us))
    if isinstance(criterion, AnyOf):
        return (OneOf(tuple(lacks(book, code, child, us) for child in criterion.conditions)),)
    if isinstance(criterion, StepPassed):
        return (StepNotPassed(criterion.step),)
    return tuple(leaf_lacks(book, code, criterion, us))


def leaf_lacks(book: Book, code: str, leaf: Leaf, us: int) -> Iterator[Finding]:
    """Amount, then sessions, then dates; one session and one date come with the first success."""
    found = successes(book, code, leaf, us)
    if amount(leaf, found) < amount_needed(leaf):
        yield amount_lacks(book, code, leaf, us)
    if isinstance(leaf, BestOf):
        return
    sessions, dates = sessions_of(book, found), dates_of(book, found)
    if 1 < leaf.counting.sessions > sessions:
        yield TooFewSessions(leaf.counting.sessions, sessions)
    if 1 < leaf.counting.dates > dates:
        yield TooFewDates(leaf.counting.dates, dates)


def amount_lacks(book: Book, code: str, leaf: Leaf, us: int) -> Finding:
    """The finding of a leaf that has too little."""
    have = amount(leaf, successes(book, code, leaf, us))
    if isinstance(leaf, HoldsOf):
        return TooFewHolds(leaf.count, have, max(leaf.tenths, LEAST_HOLD_TENTHS))
    if isinstance(leaf, LastOf):
        return TooFewCleanOfLast(leaf.clean, have, leaf.of)
    if isinstance(leaf, BestOf):
        best = best_of(book, code, leaf, us)
        if isinstance(leaf.target, HoldTarget):
            return TooShort(max(leaf.target.tenths, LEAST_HOLD_TENTHS), best)
        return TooFewReps(leaf.target.reps, best)
    return TooFewSets(leaf.count, have, leaf.reps, leaf.unbroken)


def best_of(book: Book, code: str, leaf: BestOf, us: int) -> int:
    """The longest hold, or the most reps, of an attempt that lacks nothing but length; 0 = none."""
    tries = [a for a in counted(book, code) if is_inside(book, a, leaf.counting, us)]
    tries = [a for a in tries if is_looked_at(a, leaf.counting) and is_of_kind(a, leaf.target)]
    tries = [a for a in tries if is_clean(a) or not leaf.counting.clean]
    if isinstance(leaf.target, HoldTarget):
        held = [a.hold_tenths for a in tries if a.hold_tenths is not None]
        return max((tenths for tenths in held if tenths >= LEAST_HOLD_TENTHS), default=0)
    return max((a.reps for a in tries if a.unbroken or not leaf.target.unbroken), default=0)


def progress_at(book: Book, code: str, us: int) -> tuple[Progress, ...]:
    """One for each leaf of the criterion in force, in reading order."""
    criterion = criterion_at(book, code, us)
    return () if criterion is None else tuple(progress_of(book, code, leaf, us) for leaf in leaves(criterion))


def progress_of(book: Book, code: str, leaf: Leaf | StepPassed, us: int) -> Progress:
    """How many holds, sets or clean tries; how long or how many the best try; a step passed or not."""
    if isinstance(leaf, StepPassed):
        return Progress(int(base_at(book, leaf.step, us) == "passed"), 1, "step")
    if isinstance(leaf, BestOf):
        best = best_of(book, code, leaf, us)
        if isinstance(leaf.target, HoldTarget):
            return Progress(best, max(leaf.target.tenths, LEAST_HOLD_TENTHS), "tenths")
        return Progress(best, leaf.target.reps, "reps")
    kind: Kind = "holds" if isinstance(leaf, HoldsOf) else "clean" if isinstance(leaf, LastOf) else "reps"
    return Progress(amount(leaf, successes(book, code, leaf, us)), amount_needed(leaf), kind)
