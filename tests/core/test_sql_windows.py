"""Windows and local dates of the engine against SQL window functions; the SQL against dates told by hand."""

import random
from collections.abc import Callable

import pytest

from skills.core.criteria import Counting, Criterion, HoldsOf, HoldTarget, LastOf
from skills.core.facts import Attempt
from skills.core.readiness import evaluate
from tests.core.oracle import candidate_moments, either_side
from tests.core.sql_windows import moments_met
from tests.strategies import Choose, deal_holds, deal_last, deal_single_step, moment_of

BATCHES = 10
HISTORIES_IN_A_BATCH = 60


def holds_or_last(choose: Choose) -> Criterion:
    kinds: tuple[Callable[[Choose], Criterion], ...] = (deal_holds, deal_last)
    return choose(kinds)(choose)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_step_is_ready_exactly_while_sql_says_that_its_criterion_is_met(batch: int):
    ready_sometimes = 0
    for seed in range(batch * HISTORIES_IN_A_BATCH, (batch + 1) * HISTORIES_IN_A_BATCH):
        case = deal_single_step(random.Random(seed).choice, holds_or_last, attempts=14)
        criterion = case.rules.steps["hang"].criteria[0].criterion
        assert isinstance(criterion, HoldsOf | LastOf)
        moments = either_side(candidate_moments(case.rules, case.history))
        timeline = evaluate(case.rules, case.history, 0).steps["hang"].timeline

        ready = {us for us in moments if timeline.at(us).state == "ready"}

        assert ready == moments_met(criterion, case.history.attempts, moments, case.rules.zone), f"seed {seed}"
        ready_sometimes += bool(ready)
    assert ready_sometimes > HISTORIES_IN_A_BATCH // 4


# A hold on the evening before a clock change; a window of 2 dates ends with the day after it.
# Source of the offsets: IANA time zone database.
@pytest.mark.parametrize(
    ("zone", "done", "last", "hours"),
    [
        ("UTC", "2025-06-01T20:00", "2025-06-02T23:59:59.999999", 28),
        ("Europe/Berlin", "2025-03-29T20:00", "2025-03-30T23:59:59.999999", 27),
        ("Europe/Berlin", "2025-10-25T20:00", "2025-10-26T23:59:59.999999", 29),
        ("America/Sao_Paulo", "2018-11-03T20:00", "2018-11-04T23:59:59.999999", 27),
        ("Australia/Lord_Howe", "2025-04-05T20:30", "2025-04-06T23:59:59.999999", 28),
        ("Pacific/Apia", "2011-12-28T20:00", "2011-12-29T23:59:59.999999", 28),
        ("Pacific/Apia", "2011-12-29T20:00", "2011-12-29T23:59:59.999999", 4),
    ],
)
def test_window_of_two_dates_ends_with_the_second_local_date(zone: str, done: str, last: str, hours: int):
    start, end = moment_of(done, zone), moment_of(last, zone)
    criterion = HoldsOf(1, 50, Counting(window_days=2))

    met = moments_met(criterion, [hold(start)], [start - 1, start, end, end + 1], zone)

    assert met == {start, end}
    assert end + 1 - start == hours * 3_600_000_000


def test_holds_outside_any_session_are_one_session_for_each_local_date():
    walls = ("2025-06-01T01:00", "2025-06-01T23:00", "2025-06-02T00:00")
    days = [moment_of(wall, "Asia/Kathmandu") for wall in walls]
    tries = [hold(us, name=f"a{place}") for place, us in enumerate(days)]
    criterion = HoldsOf(2, 50, Counting(sessions=2))

    assert moments_met(criterion, tries, days, "Asia/Kathmandu") == {days[2]}


def test_last_three_leave_out_the_smaller_name_of_four_at_one_moment():
    tries = [hold(7, name=name, tenths=tenths) for name, tenths in (("a", 19), ("b", 50), ("c", 50), ("d", 50))]
    criterion = LastOf(3, 3, HoldTarget(50), Counting())

    assert moments_met(criterion, tries, [6, 7], "UTC") == {7}
    assert moments_met(criterion, [*tries, hold(7, name="e", tenths=49)], [7], "UTC") == set()


def hold(us: int, *, name: str = "a", tenths: int = 50) -> Attempt:
    return Attempt(
        id=name,
        step="hang",
        happened_us=us,
        recorded_us=us,
        session="",
        hold_tenths=tenths,
        reps=1,
        unbroken=True,
        source="judged",
        assistance="none",
        variant="",
        faults=frozenset(),
        missed=frozenset(),
        pain=False,
        grade=0,
        closed_try=False,
    )
