"""Rules and histories for the tests, dealt by Hypothesis or by a seed.

One dealer serves both: every choice goes through ``choose(options)``. Hypothesis chooses by drawing (and
shrinks towards the first option), ``random.Random(seed)`` by ``choice``. All moments come from a coarse grid
of a few days around a clock change, so that ties, same days, local midnights and repeated or skipped hours
are common.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Literal, Protocol, TypeVar

from hypothesis import strategies as st

from skills.core.conditions import Bound, Confidence
from skills.core.criteria import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    BestOf,
    Counting,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
)
from skills.core.facts import Attempt, Caution, History, Lift, Opening, SignOff, Source, Void
from skills.core.reliability import Rate
from skills.core.steps import CriterionInForce, Rules, StepRule
from tests.core.zones import pinned_zone

T = TypeVar("T")
HOUR_US = 3_600_000_000
DAY_US = 24 * HOUR_US
DAY_TIMES = ((9, 0), (0, 0), (0, 1), (18, 0))  # hours since midnight, microseconds too early
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
Gate = Literal["entrance", "finish"]
Decision = Literal["passed", "not_yet", "revoked"]
Clearance = Literal["", "spotted", "present", "alone"]


class Choose(Protocol):
    """Picks one of the options."""

    def __call__(self, options: Sequence[T], /) -> T: ...


@dataclass(frozen=True, slots=True)
class Case:
    """The rules of a gym and the facts of one athlete."""

    rules: Rules
    history: History


@dataclass(frozen=True, slots=True)
class Season:
    """How long to deal for, and how much at most; as many voids and lifts as cautions."""

    days: int
    attempts: int
    sign_offs: int
    cautions: int
    attempts_at_least: int = 0


WEEK = Season(days=8, attempts=24, sign_offs=10, cautions=2)
MONTHS = Season(days=120, attempts=400, sign_offs=40, cautions=8, attempts_at_least=200)


# -- moments -----------------------------------------------------------------------------------

# zone, a date in the middle of the grid; source: IANA time zone database
CLOCK_CHANGES = (
    ("UTC", date(2025, 1, 1)),
    ("Europe/Berlin", date(2025, 3, 30)),  # 02:00 becomes 03:00
    ("Europe/Berlin", date(2025, 10, 26)),  # 03:00 becomes 02:00
    ("America/New_York", date(2025, 11, 2)),  # the day begins in the middle of a UTC day
    ("America/Sao_Paulo", date(2018, 11, 4)),  # no midnight: 00:00 becomes 01:00
    ("America/Sao_Paulo", date(2018, 2, 18)),  # 24:00 becomes 23:00 of the day before
    ("America/Havana", date(2025, 11, 2)),  # midnight twice: 01:00 becomes 00:00
    ("Australia/Lord_Howe", date(2025, 4, 6)),  # half an hour
    ("Pacific/Apia", date(2011, 12, 30)),  # a date that never was
    ("Asia/Kathmandu", date(2025, 6, 15)),  # offset in quarters of an hour
)


def moment_of(wall: str, zone: str) -> int:
    """Microseconds since 1970 UTC of an ISO wall time (the earlier one where it comes twice)."""
    return microseconds(datetime.fromisoformat(wall).replace(tzinfo=pinned_zone(zone)))


def microseconds(moment: datetime) -> int:
    """Microseconds since 1970 UTC."""
    return (moment - EPOCH) // timedelta(microseconds=1)


@lru_cache(maxsize=256)
def grid(zone: str, middle: date, days: int) -> tuple[int, ...]:
    """Local midnights and the microsecond before, mornings, evenings, the hours around the clock change."""
    first = datetime.combine(middle - timedelta(days=days // 2), time(), pinned_zone(zone))
    midnights = [microseconds(first + timedelta(days=count)) for count in range(days)]
    coarse = [start + shift * HOUR_US - early for start in midnights for shift, early in DAY_TIMES]
    noon = microseconds(datetime.combine(middle, time(12), pinned_zone(zone)))
    around = [noon - halves * HOUR_US // 2 for halves in range(18, 28)]
    return tuple(dict.fromkeys(coarse + around))


# -- rules -------------------------------------------------------------------------------------

LOADS = ("hanging", "inversion")
CODES = ("hang", "arch", "tuck", "pull", "turn", "kick")
SOMETIMES = (False, False, False, True)
MOSTLY = (True, True, True, False)


def deal_counting(choose: Choose, most: int) -> Counting:
    """Conditions on the attempts; distinct sessions and dates never above ``most``."""
    window = choose((None, 3, 5, 2, None, 1))
    few = range(1, most + 1)
    sessions, dates = (choose(few) if choose((False, True)) else 1 for _ in range(2))
    return Counting(
        window_days=window,
        sessions=sessions if window is None else min(sessions, window),
        dates=dates if window is None else min(dates, window),
        clean=choose(MOSTLY),
        assistance=choose((frozenset({"none"}), frozenset({"none", "band"}))),
        variants=choose(MOSTLY),
        who=choose((frozenset[Source]({"judged"}), frozenset[Source]({"judged", "counted"}), _everybody())),
        grade_at_least=choose((0, 0, 0, 0, 2)),
    )


def _everybody() -> frozenset[Source]:
    return frozenset[Source]({"judged", "counted", "timed_only", "own"})


def deal_target(choose: Choose) -> HoldTarget | RepsTarget:
    """Seconds or reps for one attempt; 1 s stands for a target below what is called a hold."""
    if choose(MOSTLY):
        return HoldTarget(choose((50, 50, 10)))
    return RepsTarget(choose((2, 1)), unbroken=choose(SOMETIMES))


def deal_holds(choose: Choose) -> HoldsOf:
    """A few holds."""
    count = choose((1, 2, 1, 3))
    return HoldsOf(count, choose((50, 50, 10)), deal_counting(choose, count))


def deal_reps(choose: Choose) -> RepsOf:
    """A few sets of reps."""
    count = choose((1, 2, 1, 3))
    return RepsOf(count, choose((2, 1)), choose(SOMETIMES), deal_counting(choose, count))


def deal_best(choose: Choose) -> BestOf:
    """One good attempt."""
    return BestOf(deal_target(choose), deal_counting(choose, 1))


def deal_last(choose: Choose) -> LastOf:
    """Some clean ones among the last few."""
    clean = choose((1, 2, 1, 3))
    return LastOf(clean, clean + choose((0, 1, 2)), deal_target(choose), deal_counting(choose, clean))


def deal_angle(choose: Choose) -> AngleOf:
    """A few tries at an angle, held or not."""
    count, bound = choose((1, 2, 1)), choose(_BOUNDS)
    return AngleOf(count, choose((90, 60)), bound, choose((0, 50, 10)), deal_counting(choose, count))


_BOUNDS: tuple[Bound, ...] = ("at_least", "at_least", "at_most")


def deal_reliability(choose: Choose) -> ReliabilityOf:
    """A clean rate that the last few tries, or all of them, can show."""
    percent, confidence = choose((30, 45, 20, 60)), choose(_CONFIDENCES)
    enough = Rate(percent, confidence).more_clean((), None)
    of = choose((None, enough, enough + 2))
    return ReliabilityOf(percent, confidence, deal_target(choose), of, deal_counting(choose, 2))


_CONFIDENCES: tuple[Confidence, ...] = (80, 90, 95)
LEAVES: tuple[Callable[[Choose], Criterion], ...] = (
    *(deal_holds, deal_last, deal_reps, deal_best),
    *(deal_reliability, deal_angle),
)


def deal_criterion(choose: Choose, earlier: Sequence[str], depth: int) -> Criterion:
    """A tree of conditions that may mention earlier steps."""
    kind = choose(("leaf", "leaf", "leaf", "step", "all", "any", "at_least"))
    if kind == "step" and earlier:
        return StepPassed(choose(earlier))
    if kind in {"all", "any", "at_least"} and depth:
        children = tuple(deal_criterion(choose, earlier, depth - 1) for _ in range(choose((2, 1, 3))))
        if kind == "at_least":
            return AtLeastOf(choose(range(1, len(children) + 1)), children)
        return AllOf(children) if kind == "all" else AnyOf(children)
    return choose(LEAVES)(choose)


def deal_criteria(choose: Choose, earlier: Sequence[str], moments: Sequence[int]) -> tuple[CriterionInForce, ...]:
    """One to three versions; the first mostly in force from 0 on; two may begin in one microsecond."""
    starts = [0 if choose(MOSTLY) else choose(moments)]
    while choose(SOMETIMES) and len(starts) < 3:
        starts.append(choose((starts[0], *moments)))
    in_force = [
        CriterionInForce(version, start, deal_criterion(choose, earlier, 2)) for version, start in enumerate(starts, 1)
    ]
    return tuple(sorted(in_force, key=lambda item: (item.from_us, item.version)))


def deal_step(choose: Choose, code: str, earlier: Sequence[str], moments: Sequence[int]) -> StepRule:
    """A step after some of the earlier ones."""
    requires = {choose(earlier) for _ in range(choose((1, 0, 2)))} if earlier else set()
    return StepRule(
        code=code,
        requires=tuple(sorted(requires)),
        asks_clearance=choose((False, True, False)),
        needs_sign_off=choose((False, True)),
        recheck_days=choose((None, 3, 2, 1)),
        loads=frozenset(choose(((), ("hanging",), ("inversion",), LOADS))),
        inverted=choose((False, True, False)),
        criteria=deal_criteria(choose, earlier, moments),
    )


def deal_rules(choose: Choose, zone: str, moments: Sequence[int]) -> Rules:
    """Two to six steps; the order of their codes has nothing to do with the order of the graph."""
    remaining, codes = list(CODES), list[str]()
    for _ in range(choose((2, 3, 4, 5, 6))):
        codes.append(choose(tuple(remaining)))
        remaining.remove(codes[-1])
    steps = {code: deal_step(choose, code, codes[:place], moments) for place, code in enumerate(codes)}
    return Rules(steps=steps, zone=zone)


# -- facts -------------------------------------------------------------------------------------

DELAYS = (0, 0, 1, HOUR_US, 2 * DAY_US)
QUALITIES = ("clean", "clean", "clean", "clean", "clean", "fault", "missed", "pain")
HOLDS: tuple[tuple[int | None, int], ...] = ((50, 1), (200, 1), (50, 2), (49, 1), (20, 1), (19, 1), (50, 3))
REPS: tuple[tuple[int | None, int], ...] = ((None, 2), (None, 1), (None, 3), (None, 0))
SOURCES: tuple[Source, ...] = ("judged", "judged", "judged", "judged", "counted", "timed_only", "own")


def deal_attempt(choose: Choose, name: str, codes: Sequence[str], moments: Sequence[int]) -> Attempt:
    """One try, mostly a good one."""
    happened = choose(moments)
    tenths, reps = choose(HOLDS if choose(MOSTLY) else REPS)
    quality = choose(QUALITIES)
    return Attempt(
        id=name,
        step=choose(codes),
        happened_us=happened,
        recorded_us=happened + choose(DELAYS),
        session=choose(("", "monday", "friday")),
        hold_tenths=tenths,
        reps=reps,
        unbroken=choose(MOSTLY),
        source=choose(SOURCES),
        assistance=choose(("none", "none", "none", "none", "band", "partner")),
        variant=choose(("", "", "", "knees")),
        faults=frozenset({"swing"} if quality == "fault" else ()),
        missed=frozenset({"elbows"} if quality == "missed" else ()),
        pain=quality == "pain",
        grade=choose((0, 2, 3, 1)),
        closed_try=choose((False, False, False, False, False, False, False, True)),
        angle_degrees=choose((None, 90, 60, 120, 89)),
    )


def deal_opening(choose: Choose, name: str, codes: Sequence[str], moments: Sequence[int]) -> Opening:
    """A step opens."""
    happened = choose(moments)
    return Opening(id=name, step=choose(codes), happened_us=happened, recorded_us=happened + choose(DELAYS))


def deal_sign_off(
    choose: Choose, name: str, codes: Sequence[str], moments: Sequence[int], attempts: Sequence[str]
) -> SignOff:
    """A decision at either gate; its evidence may be of another step or unknown."""
    happened = choose(moments)
    decision = choose(_DECISIONS)
    return SignOff(
        id=name,
        step=choose(codes),
        gate=choose(_GATES),
        decision=decision,
        clearance=choose(_CLEARANCES) if decision == "passed" else "",
        criterion_version=1,
        evidence=tuple(dict.fromkeys(choose((*attempts, "unknown")) for _ in range(choose((1, 0, 2))))),
        happened_us=happened,
        recorded_us=happened + choose(DELAYS),
    )


_DECISIONS: tuple[Decision, ...] = ("passed", "passed", "passed", "not_yet", "revoked")
_GATES: tuple[Gate, ...] = ("finish", "finish", "entrance")
_CLEARANCES: tuple[Clearance, ...] = ("alone", "present", "spotted", "")


def deal_caution(choose: Choose, name: str, moments: Sequence[int]) -> Caution:
    """Something is forbidden, for a while or until lifted."""
    begins = choose(moments)
    return Caution(
        id=name,
        loads=frozenset(choose((("hanging",), ("inversion",), LOADS))),
        from_us=begins,
        until_us=choose((begins + DAY_US, None, choose(moments))),
        recorded_us=begins + choose(DELAYS),
    )


def deal_void(choose: Choose, attempts: Sequence[str], moments: Sequence[int]) -> Void:
    """An attempt is taken back."""
    happened = choose(moments)
    return Void(attempt=choose((*attempts, "unknown")), happened_us=happened, recorded_us=happened + choose(DELAYS))


def deal_lift(choose: Choose, cautions: Sequence[str], moments: Sequence[int]) -> Lift:
    """A caution is lifted."""
    happened = choose(moments)
    return Lift(caution=choose((*cautions, "unknown")), happened_us=happened, recorded_us=happened + choose(DELAYS))


def names(choose: Choose, letter: str, most: int, least: int = 0) -> list[str]:
    """From ``least`` to ``most`` names, told one by one so that a failing example can drop any of them."""
    found = [f"{letter}{place:03}" for place in range(least)]
    while len(found) < most and choose((False, *(True,) * 2 * most)):
        found.append(f"{letter}{len(found):03}")
    return found


def deal_history(choose: Choose, rules: Rules, moments: Sequence[int], season: Season) -> History:
    """The facts of one athlete; early openings, so that gated steps have something to show."""
    codes = tuple(sorted(rules.steps))
    gated = tuple(code for code in codes if rules.steps[code].requires or rules.steps[code].asks_clearance)
    early = sorted(moments)[: len(moments) // 3]
    tries = names(choose, "a", season.attempts, season.attempts_at_least)
    cautions = names(choose, "c", season.cautions)
    return History(
        attempts=tuple(deal_attempt(choose, name, codes, moments) for name in tries),
        voids=tuple(deal_void(choose, tries, moments) for _ in names(choose, "v", season.cautions)),
        openings=tuple(
            deal_opening(choose, name, gated or codes, early if choose(MOSTLY) else moments)
            for name in names(choose, "o", 8)
        ),
        sign_offs=tuple(
            deal_sign_off(choose, name, codes, moments, tries) for name in names(choose, "s", season.sign_offs)
        ),
        cautions=tuple(deal_caution(choose, name, moments) for name in cautions),
        lifts=tuple(deal_lift(choose, cautions, moments) for _ in names(choose, "l", season.cautions)),
    )


def crowded(choose: Choose, moments: Sequence[int]) -> tuple[int, ...]:
    """The moments, with a few of them so often that half of all facts share one."""
    busy = [choose(moments) for _ in range(max(6, len(moments) // 20))]
    return (*moments, *busy * (len(moments) // len(busy)))


def deal_case(choose: Choose, season: Season) -> Case:
    """Rules and facts around one clock change."""
    zone, middle = choose(CLOCK_CHANGES)
    moments = grid(zone, middle, season.days)
    rules = deal_rules(choose, zone, moments)
    return Case(rules, deal_history(choose, rules, crowded(choose, moments), season))


def deal_single_step(choose: Choose, criterion: Callable[[Choose], Criterion], *, attempts: int) -> Case:
    """One open step that waits for a sign-off: it is ready exactly while its criterion is met."""
    zone, middle = choose(CLOCK_CHANGES)
    moments = crowded(choose, grid(zone, middle, 8))
    step = StepRule(
        code="hang",
        requires=(),
        asks_clearance=False,
        needs_sign_off=True,
        recheck_days=None,
        loads=frozenset(),
        inverted=False,
        criteria=(CriterionInForce(1, 0, criterion(choose)),),
    )
    tries = [deal_attempt(choose, name, ("hang",), moments) for name in names(choose, "a", attempts)]
    history = History(attempts=tuple(replace(attempt, closed_try=False) for attempt in tries))
    return Case(Rules(steps={"hang": step}, zone=zone), history)


# -- dealers -----------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def _places(count: int) -> st.SearchStrategy[int]:
    return st.integers(0, count - 1)


@st.composite
def cases(draw: st.DrawFn, season: Season = WEEK) -> Case:
    """Rules and facts that Hypothesis can shrink."""

    def choose(options: Sequence[T], /) -> T:
        return options[draw(_places(len(options)))]

    return deal_case(choose, season)


def random_case(seed: int, season: Season = WEEK) -> Case:
    """The same from a seed, without Hypothesis."""
    return deal_case(random.Random(seed).choice, season)


def long_case(seed: int) -> Case:
    """Hundreds of facts over months."""
    return random_case(seed, MONTHS)


def shuffled(history: History, seed: int) -> History:
    """The same facts in another order."""
    dealer = random.Random(seed)

    def mixed(facts: tuple[T, ...]) -> tuple[T, ...]:
        return tuple(dealer.sample(facts, len(facts)))

    return replace(
        history,
        attempts=mixed(history.attempts),
        voids=mixed(history.voids),
        openings=mixed(history.openings),
        sign_offs=mixed(history.sign_offs),
        cautions=mixed(history.cautions),
        lifts=mixed(history.lifts),
    )
