from datetime import UTC, datetime, timedelta

import pytest

from athletes.core.tablets import LETTERS, contact_is_news, is_code, is_weak, offset_ms, shown_code, typed_code

NOW = datetime(2026, 3, 2, 18, 5, tzinfo=UTC)


def test_letters_are_thirty_one_and_none_looks_like_another():
    assert len(set(LETTERS)) == len(LETTERS) == 31
    assert not set("01OIL") & set(LETTERS)


@pytest.mark.parametrize("typed", ["ABCD-EFGH", "abcd efgh", " abcdefgh ", "ab-cd ef·gh"])
def test_a_code_is_read_however_it_is_typed(typed):
    assert typed_code(typed) == "ABCDEFGH"
    assert shown_code(typed_code(typed)) == "ABCD-EFGH"


@pytest.mark.parametrize(("text", "good"), [("402917", True), ("40291", False), ("40291a", False), ("٤٠٢٩١٧", False)])
def test_a_coachs_code_is_six_ascii_digits(text, good):
    assert is_code(text) is good


@pytest.mark.parametrize("code", ["111111", "123456", "654321", "890123", "135791", "121212", "123123", "000000"])
def test_runs_and_repetitions_are_weak(code):
    assert is_weak(code)


@pytest.mark.parametrize("code", ["402917", "123457", "111112", "121213", "112233"])
def test_other_codes_are_not_weak(code):
    assert not is_weak(code)


def test_few_codes_are_refused():
    """Two digits thrice or three twice: 100 + 1000, less the 10 that are both. Equal steps: ten starts, ten steps,
    of which those of 0 and of 5 repeat two digits and are among the others."""
    weak = sum(is_weak(f"{number:06}") for number in range(1_000_000))
    assert weak == (100 + 1000 - 10) + (10 * 10 - 20)


@pytest.mark.parametrize(
    ("heard_ago_s", "kept_ms", "heard_ms", "news"),
    [
        (None, None, None, True),
        (59, None, None, False),
        (60, None, None, True),
        (1, None, 0, True),
        (1, 0, 2000, False),
        (1, 0, -2001, True),
        (1, 7_200_000, None, False),
    ],
)
def test_a_contact_is_news_once_a_minute_and_when_the_clock_was_set(heard_ago_s, kept_ms, heard_ms, news):
    heard_at = None if heard_ago_s is None else NOW - timedelta(seconds=heard_ago_s)
    assert contact_is_news(heard_at=heard_at, kept_ms=kept_ms, received_at=NOW, heard_ms=heard_ms) is news


def test_the_offset_is_the_servers_clock_minus_the_devices():
    assert offset_ms(NOW, NOW - timedelta(hours=3)) == 10_800_000
    assert offset_ms(NOW, NOW + timedelta(milliseconds=1, microseconds=1)) == -2  # cut downwards, as everywhere
