"""Which rotation a class is in: by the plan's minutes, by marks, across midnight and changes of the clocks."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.rotation_clock import WARM_UP, Lengths, Mark, Turn, clock_at, first_turn_at, turns_of

SIX = datetime(2026, 5, 4, 18, 0, tzinfo=UTC)
LENGTHS = Lengths(SIX + timedelta(minutes=10), (12, 12, 12, 12))


def _at(minutes: float) -> datetime:
    return SIX + timedelta(minutes=minutes)


# A class of 18:00 with ten minutes of warm-up and four rotations of twelve: worked out by hand.
@pytest.mark.parametrize(
    ("minutes", "rotation", "next_minutes"),
    [
        (-30, WARM_UP, 10),
        (0, WARM_UP, 10),
        (9.99, WARM_UP, 10),
        (10, 0, 22),
        (21.99, 0, 22),
        (22, 1, 34),
        (45.99, 2, 46),
        (46, 3, 58),
        (57.99, 3, 58),
        (58, 4, None),
        (600, 4, None),
    ],
)
def test_without_a_mark_rotations_follow_one_another(minutes, rotation, next_minutes):
    clock = clock_at(LENGTHS, (), _at(minutes))
    assert clock.rotation == rotation
    assert (clock.next and clock.next.at) == (None if next_minutes is None else _at(next_minutes))
    assert clock.is_over == (rotation == 4)
    assert clock.is_warm_up == (rotation == WARM_UP)
    assert clock.running == (rotation if 0 <= rotation < 4 else None)


def test_a_skip_ends_the_rotation_now_and_moves_all_that_follow():
    skip = Mark(_at(15), 1)
    assert clock_at(LENGTHS, [skip], _at(14)).rotation == 0
    clock = clock_at(LENGTHS, [skip], _at(15))
    assert (clock.rotation, clock.since, clock.next) == (1, _at(15), Turn(_at(27), 2))
    assert [turn.at for turn in clock.turns] == [_at(15), _at(27), _at(39), _at(51)]


def test_a_warm_up_is_cut_short_by_starting_the_first_rotation():
    clock = clock_at(LENGTHS, [Mark(_at(4), 0)], _at(5))
    assert (clock.rotation, clock.next) == (0, Turn(_at(16), 1))


def test_going_back_begins_the_rotation_before_anew():
    clock = clock_at(LENGTHS, [Mark(_at(15), 1), Mark(_at(16), 0)], _at(17))
    assert (clock.rotation, clock.since, clock.next) == (0, _at(16), Turn(_at(28), 1))


def test_the_last_rotation_skipped_ends_the_plan():
    clock = clock_at(LENGTHS, [Mark(_at(50), 4)], _at(51))
    assert clock.is_over
    assert clock.next is None


def test_a_mark_beyond_a_plan_that_became_shorter_is_its_end():
    shorter = Lengths(LENGTHS.first_at, (12, 12))
    assert clock_at(shorter, [Mark(_at(50), 3)], _at(51)).is_over


def test_a_mark_made_after_the_end_takes_a_class_up_again():
    clock = clock_at(LENGTHS, [Mark(_at(70), 3)], _at(71))
    assert (clock.rotation, clock.next) == (3, Turn(_at(82), 4))


def test_a_mark_that_arrives_late_counts_by_its_moment():
    marks = [Mark(_at(30), 2), Mark(_at(20), 1)]  # made offline, recorded after the other
    assert clock_at(LENGTHS, marks, _at(31)).rotation == 2


def test_of_two_marks_of_one_moment_the_later_word_holds():
    assert clock_at(LENGTHS, [Mark(_at(30), 2), Mark(_at(30), 3)], _at(31)).rotation == 3


def test_a_mark_of_a_clock_that_runs_ahead_waits_for_its_moment():
    assert clock_at(LENGTHS, [Mark(_at(90), 3)], _at(12)).rotation == 0


def test_rotations_of_other_lengths_after_planning_again_each_last_their_own():
    turns = turns_of(Lengths(SIX, (12, 8, 20)), (), SIX)
    assert [turn.at for turn in turns] == [SIX, _at(12), _at(20), _at(40)]


def test_the_first_rotation_waits_for_a_plan():
    assert first_turn_at(SIX, 10, _at(-60)) == _at(10)
    assert first_turn_at(SIX, 10, _at(25)) == _at(25)


# In Berlin clocks go back at 03:00 on 25 October 2026, and forward at 02:00 on 29 March (IANA time zone database).
@pytest.mark.parametrize("local", ["2026-10-25 01:45", "2026-03-29 01:45", "2026-05-04 23:50"])
def test_minutes_are_minutes_when_the_clocks_change_and_at_midnight(local):
    begins = datetime.fromisoformat(local).replace(tzinfo=ZoneInfo("Europe/Berlin"))
    lengths = Lengths(first_turn_at(begins, 10, begins), (12, 12, 12))
    turns = turns_of(lengths, (), begins)
    assert (turns[-1].at - begins.astimezone(UTC)) == timedelta(minutes=46)
    assert {turn.at.tzinfo for turn in turns} == {UTC}
    mark = Mark(begins, 0)
    assert turns_of(lengths, [mark], begins)[1].at - begins.astimezone(UTC) == timedelta(minutes=12)


_MINUTES = st.integers(0, 120)


@given(
    st.lists(st.integers(1, 30), min_size=1, max_size=6),
    st.lists(st.builds(lambda at, rotation: Mark(_at(at), rotation), _MINUTES, st.integers(0, 6)), max_size=6),
    _MINUTES,
)
def test_the_clock_runs_forward_between_marks(minutes, marks, at):
    lengths, now = Lengths(_at(10), tuple(minutes)), _at(at)
    clock = clock_at(lengths, marks, now)
    assert WARM_UP <= clock.rotation <= lengths.rotations
    assert [turn.rotation for turn in clock.turns] == [*range(clock.turns[0].rotation, lengths.rotations + 1)]
    if clock.next:
        assert clock.next.at > now
        assert clock.next.rotation == clock.rotation + 1
        later = [mark for mark in marks if now < mark.at <= clock.next.at]
        if not later:  # what is told comes so, where nobody marks anything else
            assert clock_at(lengths, marks, clock.next.at) == clock.turned(clock.next)
    else:
        assert clock.is_over
