"""The spans over which a leaf is met, against counting again at each moment."""

from hypothesis import given, settings
from hypothesis import strategies as st

from skills.core.conditions import BestOf, Counting, HoldsOf, HoldTarget, LastOf, ReliabilityOf
from skills.core.counted import Counted
from skills.core.days import local_date
from skills.core.spans import FOREVER, Span, Spans
from skills.core.tallies import Need, Tally, Tries, need_of
from tests.core.notebook import BERLIN, at, attempt


def counted(*notes):
    return [
        Counted(
            each, local_date(each.happened_us, BERLIN), each.session or f"day {local_date(each.happened_us, BERLIN)}"
        )
        for each in (attempt(note, id=f"n{number}") for number, note in enumerate(notes))
    ]


def met(leaf, *notes):
    return Tries.at(leaf, counted(*notes), BERLIN).met()


def test_holds_are_met_from_the_last_one_needed_until_the_first_of_the_latest_ones_leaves():
    leaf = HoldsOf(2, 50, Counting(window_days=2))
    assert met(leaf, "2 Mar 18:00, 5 s", "3 Mar 18:00, 5 s") == Spans((Span(at("3 Mar 18:00"), at("4 Mar 00:00")),))
    assert met(leaf, "2 Mar 18:00, 5 s", "3 Mar 18:00, 5 s", "3 Mar 19:00, 5 s", "4 Mar 09:00, 4 s") == Spans(
        (Span(at("3 Mar 18:00"), at("5 Mar 00:00")),)
    )


def test_holds_without_a_window_stay_met():
    assert met(HoldsOf(3, 50), "2 Mar 18:00, 2 x 5 s", "2 Mar 18:05, 5 s") == Spans((Span(at("2 Mar 18:05"), FOREVER),))


def test_last_of_is_met_until_a_miss_pushes_a_success_out():
    leaf = LastOf(2, 3, HoldTarget(50))
    notes = ["2 Mar 18:00, 5 s", "2 Mar 18:01, 5 s", "2 Mar 18:02, 3 s", "2 Mar 18:03, 3 s", "2 Mar 18:04, 5 s"]
    assert met(leaf, *notes) == Spans((Span(at("2 Mar 18:01"), at("2 Mar 18:03")),))


def test_a_rate_is_shown_anew_when_an_old_miss_leaves_the_window():
    # 90 % intervals (Newcombe 1998, method 3): 4 of 5 show 43 %, 4 of 4 show 59 %, 3 of 3 show 52 %.
    leaf = ReliabilityOf(50, 90, HoldTarget(50), None, Counting(window_days=3))
    notes = ["2 Mar 18:00, 4 s", "3 Mar 18:00, 5 s", *(f"4 Mar 18:0{minute}, 5 s" for minute in range(3))]
    # The miss leaves as the 5th begins, one clean try as the 6th does, and three of three stay until the 7th begins.
    assert met(leaf, *notes) == Spans((Span(at("5 Mar 00:00"), at("7 Mar 00:00")),))


def test_a_rate_may_be_lost_by_a_miss_or_by_a_clean_try_growing_old():
    leaf = ReliabilityOf(50, 90, HoldTarget(50), None, Counting(window_days=2))
    notes = [*(f"2 Mar 18:0{minute}, 5 s" for minute in range(3)), "2 Mar 18:05, 1 s"]
    assert met(leaf, *notes) == Spans((Span(at("2 Mar 18:02"), at("2 Mar 18:05")),))
    assert met(leaf, *notes[:3]) == Spans((Span(at("2 Mar 18:02"), at("4 Mar 00:00")),))


def test_a_rate_over_the_last_few_tries_forgets_the_misses_before_them():
    leaf = ReliabilityOf(50, 90, HoldTarget(50), 3)
    misses = [f"2 Mar 18:0{minute}, 1 s" for minute in range(5)]
    assert met(leaf, *misses, *(f"2 Mar 19:0{minute}, 5 s" for minute in range(3))) == Spans(
        (Span(at("2 Mar 19:02"), FOREVER),)
    )


def test_tries_of_one_moment_count_together():
    leaf = LastOf(2, 2, HoldTarget(50))
    assert met(leaf, "2 Mar 18:00, 5 s", "2 Mar 18:00, 5 s", "2 Mar 18:00, 1 s") == Spans()
    assert met(leaf, "2 Mar 18:00, 1 s", "2 Mar 18:00, 5 s", "2 Mar 18:00, 5 s") == Spans(
        (Span(at("2 Mar 18:00"), FOREVER),)
    )


def test_best_needs_one_attempt_whatever_days_it_asks_for():
    assert need_of(BestOf(HoldTarget(50), Counting(sessions=3, dates=3))) == Need(1, 1, 1, None)


def test_tally_forgets_what_is_dropped():
    [seen, other] = Tries.at(HoldsOf(9, 50), counted("2 Mar 18:00, 3 x 5 s", "3 Mar 18:00, 5 s"), BERLIN).seen
    tally = Tally.of([seen, other])
    assert (tally.tries, tally.count, len(tally.sessions), len(tally.dates)) == (2, 4, 2, 2)
    tally.drop(seen)
    assert tally == Tally.of([other])


notes = st.builds(
    "{} Mar {:02}:{:02}, {}{}{}".format,
    st.integers(26, 31),
    st.sampled_from([0, 3, 12, 23]),
    st.sampled_from([0, 59]),
    st.sampled_from(["5 s", "2 x 5 s", "4 s", "1 s", "3 reps"]),
    st.sampled_from(["", "", "", ", fault", ", own"]),
    st.sampled_from(["", ", session A", ", session B"]),
)
leaves = (
    st.builds(
        HoldsOf,
        st.integers(1, 4),
        st.just(50),
        st.builds(
            Counting, window_days=st.none() | st.integers(1, 3), sessions=st.integers(1, 3), dates=st.integers(1, 3)
        ),
    )
    | st.builds(
        ReliabilityOf,
        st.sampled_from([20, 35, 50]),
        st.sampled_from([80, 90, 95]),
        st.just(HoldTarget(50)),
        st.none() | st.integers(3, 5),
        st.builds(Counting, window_days=st.none() | st.integers(1, 3), sessions=st.integers(1, 2), clean=st.booleans()),
    )
    | st.builds(
        LastOf,
        st.integers(1, 3),
        st.integers(3, 5),
        st.just(HoldTarget(50)),
        st.builds(
            Counting, window_days=st.none() | st.integers(1, 3), sessions=st.integers(1, 2), dates=st.integers(1, 2)
        ),
    )
)


@settings(deadline=None)  # how busy the machine is says nothing
@given(leaves, st.lists(notes, max_size=9))
def test_spans_agree_with_counting_at_every_edge_and_beside_it(leaf, texts):
    attempts = sorted(counted(*texts), key=lambda each: (each.attempt.happened_us, each.attempt.id))
    tries = Tries.at(leaf, attempts, BERLIN)
    edges = {0, *(edge for seen in tries.seen for edge in (seen.at_us, min(seen.leaves_us, 2**60)))}
    for us in sorted({edge + beside for edge in edges for beside in (-1, 0, 1)}):
        assert tries.met().covers(us) is Tally.of(tries.in_view(us)).enough(tries.need)
