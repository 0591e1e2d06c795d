"""The slow second opinion, last part: what is still missing at ONE moment, and how far each leaf is."""

from collections.abc import Iterator
from datetime import timedelta

from skills.core.criteria import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    BestOf,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    StepPassed,
)
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
    Showing,
    SomeOf,
    StepNotPassed,
    TooFewAngles,
    TooFewCleanOfLast,
    TooFewDates,
    TooFewHolds,
    TooFewReps,
    TooFewSessions,
    TooFewSets,
    TooShort,
    TooUnreliable,
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
    is_success,
    local_date,
    lower_wilson,
    reaches,
    sessions_of,
    shows_rate,
    successes,
    target_of,
    tries_in_view,
)

KINDS: dict[type, Kind] = {HoldsOf: "holds", LastOf: "clean", RepsOf: "reps", AngleOf: "angles"}


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
        yield DueForRecheck(first_moment_of_recheck(book, code, us), showings(book, code, us))


def showings(book: Book, code: str, us: int) -> tuple[Showing, ...]:
    """What one try would have to be, told once for each different leaf."""
    criterion = criterion_at(book, code, us)
    ways: list[Showing] = []
    for leaf in () if criterion is None else leaves(criterion):
        if not isinstance(leaf, StepPassed) and Showing(target_of(leaf), wants_clean(leaf)) not in ways:
            ways.append(Showing(target_of(leaf), wants_clean(leaf)))
    return tuple(ways)


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
    if isinstance(criterion, AtLeastOf):
        unmet = [child for child in criterion.conditions if not is_met(book, code, child, us)]
        met = len(criterion.conditions) - len(unmet)
        return (SomeOf(criterion.count - met, tuple(lacks(book, code, child, us) for child in unmet)),)
    if isinstance(criterion, StepPassed):
        return (StepNotPassed(criterion.step),)
    return tuple(leaf_lacks(book, code, criterion, us))


def leaf_lacks(book: Book, code: str, leaf: Leaf, us: int) -> Iterator[Finding]:
    """Amount or rate, then sessions, then dates; one session and one date come with the first success.

    What has to be shown is told once: by the first finding.
    """
    found = successes(book, code, leaf, us)
    short = list(amount_lacks(book, code, leaf, us))
    yield from short
    if isinstance(leaf, BestOf):
        return
    sessions, dates = sessions_of(book, found), dates_of(book, found)
    narrow_sessions, narrow_dates = 1 < leaf.counting.sessions > sessions, 1 < leaf.counting.dates > dates
    if narrow_sessions:
        yield TooFewSessions(leaf.counting.sessions, sessions, None if short else target_of(leaf), wants_clean(leaf))
    if narrow_dates:
        told = bool(short) or narrow_sessions
        yield TooFewDates(leaf.counting.dates, dates, None if told else target_of(leaf), wants_clean(leaf))


def wants_clean(leaf: Leaf) -> bool:
    """Only a clean try speaks for the leaf."""
    return True if isinstance(leaf, LastOf) else leaf.counting.clean


def amount_lacks(book: Book, code: str, leaf: Leaf, us: int) -> Iterator[Finding]:
    """The finding of a leaf that has too little, or too many misses among its tries."""
    have, clean = amount(leaf, successes(book, code, leaf, us)), wants_clean(leaf)
    if isinstance(leaf, ReliabilityOf):
        yield from rate_lacks(book, code, leaf, us)
    elif have >= amount_needed(leaf):
        return
    elif isinstance(leaf, HoldsOf):
        yield TooFewHolds(leaf.count, have, max(leaf.tenths, LEAST_HOLD_TENTHS), clean)
    elif isinstance(leaf, LastOf):
        yield TooFewCleanOfLast(leaf.clean, have, leaf.of, leaf.target)
    elif isinstance(leaf, AngleOf):
        tenths = max(leaf.tenths, LEAST_HOLD_TENTHS) if leaf.tenths else 0
        nearest = nearest_angle(book, code, leaf, us)
        yield TooFewAngles(leaf.count, have, leaf.degrees, leaf.bound, tenths, nearest, clean)
    elif isinstance(leaf, BestOf):
        best = best_of(book, code, leaf, us)
        if isinstance(leaf.target, HoldTarget):
            yield TooShort(max(leaf.target.tenths, LEAST_HOLD_TENTHS), best, clean)
        else:
            yield TooFewReps(leaf.target.reps, best, leaf.target.unbroken, clean)
    else:
        yield TooFewSets(leaf.count, have, leaf.reps, leaf.unbroken, clean)


def rate_lacks(book: Book, code: str, leaf: ReliabilityOf, us: int) -> Iterator[Finding]:
    """How many clean tries in a row would show the rate: one is tried after the other."""
    tries = [is_success(a, leaf) for a in tries_in_view(book, code, leaf, us)]
    if shows_rate(leaf, sum(tries), len(tries)):
        return
    later, more = list(tries), 0
    while not shows_rate(leaf, sum(later), len(later)):
        later, more = [*later, True][-(leaf.of or 10_000) :], more + 1
    yield TooUnreliable(leaf.percent, leaf.confidence, sum(tries), len(tries), more, leaf.target, wants_clean(leaf))


def nearest_angle(book: Book, code: str, leaf: AngleOf, us: int) -> int | None:
    """The widest angle, or for an upper bound the narrowest, of a try that lacks nothing else."""
    tries = [a for a in tries_in_view(book, code, leaf, us) if is_clean(a) or not leaf.counting.clean]
    held = [a for a in tries if leaf.tenths == 0 or reaches(a, HoldTarget(leaf.tenths))]
    angles = sorted(a.angle_degrees for a in held if a.angle_degrees is not None)
    if not angles:
        return None
    return angles[-1] if leaf.bound == "at_least" else angles[0]


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
    found = successes(book, code, leaf, us)
    if isinstance(leaf, ReliabilityOf):
        tries = len(tries_in_view(book, code, leaf, us))
        shown = int(lower_wilson(len(found), tries, leaf.confidence) * 100) if tries else 0
        return Progress(shown, leaf.percent, "percent")
    return Progress(amount(leaf, found), amount_needed(leaf), KINDS[type(leaf)])
