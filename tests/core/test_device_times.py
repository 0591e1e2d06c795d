"""The moment of an act, of two clocks that may be wrong: a table, and what must hold for any clocks."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from skills.core.days import moment_us
from skills.core.device_times import ActClocks, EnvelopeClocks, happened_at

S = 1_000_000
HOUR = 3600 * S
NOW = moment_us(datetime(2026, 11, 25, 18, 5, tzinfo=UTC))  # when the server received the acts

# The act happened 60 s before it was sent; its way took 0.2 s. `ahead` is how far the device's clock is ahead.
TABLE = [
    # what happened                          act: wall, mono, life, offset       sent: wall, mono, life       expected
    ("the clock is right", (-60 * S, 100 * S, "a", 0), (0, 160 * S, "a"), -60 * S),
    ("the clock is three hours ahead", (3 * HOUR - 60 * S, 100 * S, "a", -3 * HOUR), (3 * HOUR, 160 * S, "a"), -60 * S),
    ("nobody knows the offset yet", (3 * HOUR - 60 * S, 100 * S, "a", None), (3 * HOUR, 160 * S, "a"), -60 * S),
    ("both clocks agree within 2 s", (-60 * S, 100 * S, "a", None), (0, 158 * S, "a"), -60 * S),
    ("it slept 50 s: the offset is as it was", (-60 * S, 100 * S, "a", 0), (0, 110 * S, "a"), -60 * S),
    ("it slept, hours ahead", (3 * HOUR - 60 * S, 100 * S, "a", -3 * HOUR), (3 * HOUR, 110 * S, "a"), -60 * S),
    ("the clock was set right meanwhile", (3 * HOUR - 60 * S, 100 * S, "a", -3 * HOUR), (0, 160 * S, "a"), -60 * S),
    ("the clock was set, no offset known", (3 * HOUR - 60 * S, 100 * S, "a", None), (0, 160 * S, "a"), -60 * S),
    ("the page was loaded again", (-60 * S, 100 * S, "a", 0), (0, 5 * S, "b"), -60 * S),
    ("loaded again, hours ahead", (3 * HOUR - 60 * S, 100 * S, "a", -3 * HOUR), (3 * HOUR, 5 * S, "b"), -60 * S),
    ("loaded again, offset not known then", (3 * HOUR - 60 * S, 100 * S, "a", None), (3 * HOUR, 5 * S, "b"), -60 * S),
    ("loaded again and set right", (3 * HOUR - 60 * S, 100 * S, "a", -3 * HOUR), (0, 5 * S, "b"), -60 * S),
]


@pytest.mark.parametrize(("_what", "act", "sent", "expected"), TABLE, ids=[row[0] for row in TABLE])
def test_the_moment(_what, act, sent, expected):
    wall, mono, life, offset = act
    clocks = ActClocks(NOW + wall, mono, life, offset)
    us, offset_ms = happened_at(clocks, EnvelopeClocks(NOW + sent[0], *sent[1:]), NOW)
    assert us == NOW + expected
    assert offset_ms == (us - clocks.wall_us) // 1000


@pytest.mark.parametrize(("apart", "expected"), [(2 * S, -60 * S), (2 * S + 1, -62 * S - 1)])
def test_the_clocks_agree_at_two_seconds_and_not_beyond(apart, expected):
    act = ActClocks(NOW - 60 * S, 0, "a", None)
    us, _ = happened_at(act, EnvelopeClocks(NOW, 60 * S + apart, "a"), NOW)
    assert us == NOW + expected


ages = st.integers(0, 12 * HOUR)
wrong_by = st.integers(-48 * HOUR, 48 * HOUR)
ways = st.integers(0, 2 * S)


@given(age=ages, ahead=wrong_by, way=ways, known=st.booleans())
def test_a_clock_that_is_wrong_by_hours_moves_nothing_and_the_way_only_what_is_not_known(age, ahead, way, known):
    act = ActClocks(NOW + ahead - age, 0, "a", -ahead if known else None)
    us, offset_ms = happened_at(act, EnvelopeClocks(NOW + ahead, age, "a"), NOW + way)
    assert us == NOW - age + (0 if known else way)
    assert abs(act.wall_us + offset_ms * 1000 - us) <= 500


@given(age=ages, ahead=wrong_by, way=ways, slept=ages)
def test_neither_sleep_nor_the_way_moves_anything_where_the_offset_is_known(age, ahead, way, slept):
    act = ActClocks(NOW + ahead - age, 0, "a", -ahead)
    us, _ = happened_at(act, EnvelopeClocks(NOW + ahead, max(0, age - slept), "a"), NOW + way)
    assert us == NOW - age


@given(age=ages, ahead=wrong_by, reset=wrong_by.filter(lambda us: abs(us) > 4 * S), way=ways, known=st.booleans())
def test_setting_the_clock_moves_nothing_but_the_way(age, ahead, reset, way, known):
    act = ActClocks(NOW + ahead - age, 0, "a", -ahead if known else None)
    us, _ = happened_at(act, EnvelopeClocks(NOW + ahead + reset, age, "a"), NOW + way)
    assert us == NOW + way - age


@given(age=ages, ahead=wrong_by, reset=wrong_by, way=ways, mono=ages)
def test_a_page_loaded_again_goes_by_the_offset_as_it_was(age, ahead, reset, way, mono):
    act = ActClocks(NOW + ahead - age, 7 * HOUR, "a", -ahead)
    us, _ = happened_at(act, EnvelopeClocks(NOW + ahead + reset, mono, "b"), NOW + way)
    assert us == NOW - age
