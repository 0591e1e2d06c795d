"""The slow second opinion, first part: which attempts count, and what they are worth to one leaf.

Each function says one sentence of the rules about ONE moment. Moments are microseconds since 1970 UTC
(``us``); hold lengths are tenths of a second.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

from skills.core.criteria import BestOf, Counting, HoldsOf, HoldTarget, LastOf, RepsOf, RepsTarget
from skills.core.facts import Attempt, Caution, History
from skills.core.steps import Rules, StepRule
from tests.core.zones import pinned_zone

Leaf = HoldsOf | RepsOf | BestOf | LastOf
LEAST_HOLD_TENTHS = 20  # the men's code asks a static hold for 2 s; anything shorter is nowhere called a hold
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
remembered = lru_cache(maxsize=200_000)


@dataclass(frozen=True, eq=False)
class Book:
    """Rules and one athlete's facts side by side; no two books are equal, so each keeps its own answers."""

    rules: Rules
    history: History

    def rule(self, code: str) -> StepRule:
        """The rule of a step."""
        return self.rules.steps[code]


# -- days --------------------------------------------------------------------------------------


@remembered
def local_date(us: int, zone: str) -> date:
    """The date on the wall of the gym."""
    return (EPOCH + timedelta(microseconds=us)).astimezone(pinned_zone(zone)).date()


@remembered
def first_moment_on_or_after(day: date, zone: str) -> int:
    """The first microsecond whose local date is ``day`` or later, found by halving a span of four days."""
    midnight_utc = (datetime(day.year, day.month, day.day, tzinfo=UTC) - EPOCH) // timedelta(microseconds=1)
    before, there = midnight_utc - 2 * 86_400_000_000, midnight_utc + 2 * 86_400_000_000
    while there - before > 1:
        middle = (before + there) // 2
        before, there = (before, middle) if local_date(middle, zone) >= day else (middle, there)
    return there


# -- open steps, cautions, attempts that count -------------------------------------------------


def is_open(book: Book, code: str, us: int) -> bool:
    """Always, without requirement and clearance; otherwise by an opening that was not revoked since."""
    rule = book.rule(code)
    if not rule.requires and not rule.asks_clearance:
        return True
    return any(
        opening.step == code
        and opening.happened_us <= us
        and not any(
            revoked.step == code
            and revoked.gate == "entrance"
            and revoked.decision == "revoked"
            and opening.happened_us <= revoked.happened_us <= us
            for revoked in book.history.sign_offs
        )
        for opening in book.history.openings
    )


def is_active(book: Book, caution: Caution, us: int) -> bool:
    """It acts from its start until its end or its lifting, whichever is first; the end itself is free."""
    begun = caution.from_us <= us
    ended = caution.until_us is not None and caution.until_us <= us
    lifted = any(lift.caution == caution.id and lift.happened_us <= us for lift in book.history.lifts)
    return begun and not ended and not lifted


def is_under_caution(book: Book, code: str, us: int) -> bool:
    """Some active caution forbids a load that the step brings."""
    loads = book.rule(code).loads
    return any(caution.loads & loads and is_active(book, caution, us) for caution in book.history.cautions)


def is_voided(book: Book, attempt_id: str) -> bool:
    """A voided attempt never happened, whenever the void was made."""
    return any(void.attempt == attempt_id for void in book.history.voids)


def is_counted(book: Book, code: str, attempt: Attempt) -> bool:
    """The attempt belongs to the step and nothing forbids that it counts at all."""
    return (
        attempt.step == code
        and not is_voided(book, attempt.id)
        and not attempt.closed_try
        and is_open(book, code, attempt.happened_us)
        and not is_under_caution(book, code, attempt.happened_us)
        and (not book.rule(code).asks_clearance or attempt.source == "judged")
    )


@remembered
def counted(book: Book, code: str) -> tuple[Attempt, ...]:
    """All attempts of the step that count, whenever they happened."""
    return tuple(attempt for attempt in book.history.attempts if is_counted(book, code, attempt))


# -- one attempt against one leaf --------------------------------------------------------------


def is_looked_at(attempt: Attempt, counting: Counting) -> bool:
    """Whose entry, with what help, in which form, how well graded."""
    return (
        attempt.source in counting.who
        and attempt.assistance in counting.assistance
        and (attempt.variant == "" or counting.variants)
        and attempt.grade >= counting.grade_at_least
    )


def is_clean(attempt: Attempt) -> bool:
    """No fault, no missed checkpoint, no pain."""
    return not attempt.faults and not attempt.missed and not attempt.pain


def is_of_kind(attempt: Attempt, target: HoldTarget | RepsTarget) -> bool:
    """Holds are measured against holds, reps against reps."""
    return (attempt.hold_tenths is not None) == isinstance(target, HoldTarget)


def reaches(attempt: Attempt, target: HoldTarget | RepsTarget) -> bool:
    """Long enough and at least two seconds; or reps enough, in one go where that is asked."""
    if isinstance(target, HoldTarget):
        held = attempt.hold_tenths
        return held is not None and held >= target.tenths and held >= LEAST_HOLD_TENTHS
    return attempt.hold_tenths is None and attempt.reps >= target.reps and (attempt.unbroken or not target.unbroken)


def target_of(leaf: Leaf) -> HoldTarget | RepsTarget:
    """What one attempt must reach for this leaf."""
    if isinstance(leaf, HoldsOf):
        return HoldTarget(leaf.tenths)
    if isinstance(leaf, RepsOf):
        return RepsTarget(leaf.reps, leaf.unbroken)
    return leaf.target


def is_success(attempt: Attempt, leaf: Leaf) -> bool:
    """It is looked at, reaches the target, and is clean where that is asked (always for the last n)."""
    clean_enough = is_clean(attempt) or not (leaf.counting.clean or isinstance(leaf, LastOf))
    return is_looked_at(attempt, leaf.counting) and reaches(attempt, target_of(leaf)) and clean_enough


# -- leaves and trees at one moment ------------------------------------------------------------


def is_inside(book: Book, attempt: Attempt, counting: Counting, us: int) -> bool:
    """The attempt has happened and its date is less than ``window_days`` dates ago."""
    if attempt.happened_us > us:
        return False
    if counting.window_days is None:
        return True
    zone = book.rules.zone
    return (local_date(us, zone) - local_date(attempt.happened_us, zone)).days < counting.window_days


def successes(book: Book, code: str, leaf: Leaf, us: int) -> list[Attempt]:
    """The attempts that speak for the leaf at this moment; for the last n only what is among the last n."""
    inside = [a for a in counted(book, code) if is_inside(book, a, leaf.counting, us)]
    if isinstance(leaf, LastOf):
        tries = [a for a in inside if is_looked_at(a, leaf.counting) and is_of_kind(a, leaf.target)]
        inside = sorted(tries, key=lambda a: (a.happened_us, a.id))[-leaf.of :]
    return [a for a in inside if is_success(a, leaf)]


def sessions_of(book: Book, attempts: Iterable[Attempt]) -> int:
    """Distinct training sessions; what was done outside any session is one for each local date."""
    zone = book.rules.zone
    return len({("in", a.session) if a.session else ("on", str(local_date(a.happened_us, zone))) for a in attempts})


def dates_of(book: Book, attempts: Iterable[Attempt]) -> int:
    """Distinct local dates."""
    return len({local_date(a.happened_us, book.rules.zone) for a in attempts})


def amount(leaf: Leaf, found: list[Attempt]) -> int:
    """Holds add up their repetitions; everything else is one for each attempt."""
    return sum(a.reps for a in found) if isinstance(leaf, HoldsOf) else len(found)


def amount_needed(leaf: Leaf) -> int:
    """How much the leaf asks for."""
    if isinstance(leaf, HoldsOf | RepsOf):
        return leaf.count
    return leaf.clean if isinstance(leaf, LastOf) else 1


def is_leaf_met(book: Book, code: str, leaf: Leaf, us: int) -> bool:
    """Enough of it, in enough sessions, on enough dates."""
    found = successes(book, code, leaf, us)
    if amount(leaf, found) < amount_needed(leaf):
        return False
    if isinstance(leaf, BestOf):
        return True
    return sessions_of(book, found) >= leaf.counting.sessions and dates_of(book, found) >= leaf.counting.dates
