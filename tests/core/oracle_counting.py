"""The slow second opinion, first part: which attempts count, and what they are worth to one leaf.

Each function says one sentence of the rules about ONE moment. Moments are microseconds since 1970 UTC
(``us``); hold lengths are tenths of a second.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from math import sqrt
from statistics import NormalDist

from skills.core.criteria import (
    AngleOf,
    AngleTarget,
    BestOf,
    Counting,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
)
from skills.core.facts import Attempt, Caution, History
from skills.core.steps import Rules, StepRule
from tests.core.zones import pinned_zone

Leaf = HoldsOf | RepsOf | BestOf | LastOf | AngleOf | ReliabilityOf
Aim = HoldTarget | RepsTarget | AngleTarget
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


def is_of_kind(attempt: Attempt, aim: Aim) -> bool:
    """Holds are measured against holds, reps against reps, angles against angles."""
    if isinstance(aim, AngleTarget):
        return attempt.angle_degrees is not None
    return (attempt.hold_tenths is not None) == isinstance(aim, HoldTarget)


def reaches(attempt: Attempt, aim: Aim) -> bool:
    """Long enough and at least two seconds; or reps enough, in one go where that is asked; or the angle."""
    if isinstance(aim, HoldTarget):
        held = attempt.hold_tenths
        return held is not None and held >= aim.tenths and held >= LEAST_HOLD_TENTHS
    if isinstance(aim, AngleTarget):
        return reaches_angle(attempt, aim) and (aim.tenths == 0 or reaches(attempt, HoldTarget(aim.tenths)))
    return attempt.hold_tenths is None and attempt.reps >= aim.reps and (attempt.unbroken or not aim.unbroken)


def reaches_angle(attempt: Attempt, aim: AngleTarget) -> bool:
    """Measured, and on the right side of the bound or right on it."""
    measured = attempt.angle_degrees
    if measured is None:
        return False
    return aim.degrees <= measured if aim.bound == "at_least" else measured <= aim.degrees


def target_of(leaf: Leaf) -> Aim:
    """What one attempt must reach for this leaf."""
    if isinstance(leaf, HoldsOf):
        return HoldTarget(leaf.tenths)
    if isinstance(leaf, RepsOf):
        return RepsTarget(leaf.reps, leaf.unbroken)
    if isinstance(leaf, AngleOf):
        return AngleTarget(leaf.degrees, leaf.bound, leaf.tenths)
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


def tries_in_view(book: Book, code: str, leaf: Leaf, us: int) -> list[Attempt]:
    """What the leaf takes notice of at this moment, oldest first; of the last n only the last n."""
    inside = [a for a in counted(book, code) if is_inside(book, a, leaf.counting, us)]
    tries = [a for a in inside if is_looked_at(a, leaf.counting) and is_of_kind(a, target_of(leaf))]
    in_order = sorted(tries, key=lambda a: (a.happened_us, a.id))
    last = leaf.of if isinstance(leaf, LastOf | ReliabilityOf) else None
    return in_order if last is None else in_order[-last:]


def successes(book: Book, code: str, leaf: Leaf, us: int) -> list[Attempt]:
    """The attempts that speak for the leaf at this moment."""
    return [a for a in tries_in_view(book, code, leaf, us) if is_success(a, leaf)]


def lower_wilson(clean: int, tries: int, confidence: int) -> float:
    """The lower end of the score interval as the textbook has it, in floating point.

    Newcombe 1998, method 3: (2np + z² - z sqrt(z² + 4npq)) / 2(n + z²), where p = clean / tries, q = 1 - p.
    """
    z = NormalDist().inv_cdf((1 + confidence / 100) / 2)
    p = clean / tries
    below = z * sqrt(z * z + 4 * tries * p * (1 - p))
    return (2 * tries * p + z * z - below) / (2 * (tries + z * z))


def shows_rate(leaf: ReliabilityOf, clean: int, tries: int) -> bool:
    """So many clean ones of so many tries show the rate asked for; the last digits of a float decide nothing."""
    if tries == 0:
        return False
    away = lower_wilson(clean, tries, leaf.confidence) - leaf.percent / 100
    assert abs(away) > 1e-9, "too near for floating point: choose another example"
    return away > 0


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
    if isinstance(leaf, HoldsOf | RepsOf | AngleOf):
        return leaf.count
    return leaf.clean if isinstance(leaf, LastOf) else 1


def is_leaf_met(book: Book, code: str, leaf: Leaf, us: int) -> bool:
    """Enough of it, in enough sessions, on enough dates."""
    found = successes(book, code, leaf, us)
    if isinstance(leaf, ReliabilityOf) and not shows_rate(leaf, len(found), len(tries_in_view(book, code, leaf, us))):
        return False
    if amount(leaf, found) < amount_needed(leaf):
        return False
    if isinstance(leaf, BestOf):
        return True
    return sessions_of(book, found) >= leaf.counting.sessions and dates_of(book, found) >= leaf.counting.dates
