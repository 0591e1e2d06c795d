"""Rights over time, at a moment and one microsecond on either side."""

from datetime import UTC, datetime, timedelta

from athletes.core.rights import RightsHeld

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
TICK = timedelta(microseconds=1)
LOG, SIGN = frozenset({"may_log"}), frozenset({"may_log", "may_sign_off"})


def test_nobody_holds_a_right_before_the_first_change() -> None:
    assert RightsHeld().at(NOON) == frozenset()
    assert RightsHeld((NOON,), (LOG,)).at(NOON - TICK) == frozenset()


def test_rights_hold_from_their_moment_until_the_next_change() -> None:
    later = NOON + timedelta(days=1)
    held = RightsHeld((NOON, later), (LOG, SIGN))
    assert [held.at(moment) for moment in (NOON, later - TICK, later, later + TICK)] == [LOG, LOG, SIGN, SIGN]


def test_of_two_changes_at_one_moment_the_last_holds() -> None:
    assert RightsHeld((NOON, NOON), (SIGN, LOG)).at(NOON) == LOG


def test_skills_to_sign_off_go_with_the_right() -> None:
    later = NOON + timedelta(days=1)
    pullover = frozenset({"bar-pullover"})
    held = RightsHeld((NOON, later), (SIGN, LOG), (pullover, None))
    assert [held.skills_at(moment) for moment in (NOON - TICK, NOON, later - TICK, later)] == [
        frozenset(),
        pullover,
        pullover,
        frozenset(),
    ]
    assert RightsHeld((NOON,), (SIGN,), (None,)).skills_at(NOON) is None
