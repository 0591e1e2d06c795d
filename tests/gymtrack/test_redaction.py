"""Log lines: what is hidden in them, and that each is one line."""

import io
import logging
import time

import pytest

from gymtrack.lib.redaction import HIDDEN, RedactingFormatter, one_line, redacted


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ('"GET /join/K7QM2XHV9PTR/ HTTP/1.1" 302 0', f'"GET /join/{HIDDEN}/ HTTP/1.1" 302 0'),
        ('"GET /link/a-_9Zc/ HTTP/1.1" 302 0', f'"GET /link/{HIDDEN}/ HTTP/1.1" 302 0'),
        ("Not Found: /account/password/new/3-c9x-77/", f"Not Found: /account/password/new/{HIDDEN}/"),
        ("Gone: /account/address/confirm/MQ:1w:xx/", f"Gone: /account/address/confirm/{HIDDEN}/"),
        ("Not Found: /JOIN/K7QM2XHV9PTR", f"Not Found: /JOIN/{HIDDEN}"),
        ("Not Found: /join/K7QM 2XHV 'PTR/x", f"Not Found: /join/{HIDDEN}/x"),
        ('"GET /join%2FK7QM2XHV9PTR%2f HTTP/1.1" 302', f'"GET /join%2F{HIDDEN}%2f HTTP/1.1" 302'),
        ('"GET /join/K7QM2XHV9PTR?a=1 HTTP/1.1" 302', f'"GET /join/{HIDDEN}?{HIDDEN} HTTP/1.1" 302'),
        ('"POST /join/ HTTP/1.1" 200 31', '"POST /join/ HTTP/1.1" 200 31'),
        ("/join/accept/", "/join/accept/"),
        ("/account/password/new/done/", "/account/password/new/done/"),
        ("GET /athletes/?q=Mia+Okafor HTTP/1.1", f"GET /athletes/?{HIDDEN} HTTP/1.1"),
        ("GET /athletes/?q=Mia+O'Kafor&x HTTP/1.1", f"GET /athletes/?{HIDDEN} HTTP/1.1"),
        ("Not Found: /athletes/mia%40harbour.example/", f"Not Found: {HIDDEN}/"),  # a slash may be part of one
        ("no account for mia.okafor+gym@harbour.example here", f"no account for {HIDDEN} here"),
        ("Authorization: Bearer abc.def-1", f"Authorization: Bearer {HIDDEN}"),
        ("Is the class over? Yes.", "Is the class over? Yes."),
        ("kept 12 of 13 rows", "kept 12 of 13 rows"),
    ],
)
def test_secrets_queries_and_addresses_are_hidden(written: str, read: str) -> None:
    assert redacted(written) == read


def test_whoever_writes_a_line_end_writes_no_second_line() -> None:
    assert (
        one_line("/nowhere\n2026-01-01 INFO forged\r\x1b[2K\x9b1m\u202eend")
        == "/nowhere 2026-01-01 INFO forged [2K 1m end"
    )


def test_the_moment_is_told_in_utc() -> None:
    record = logging.makeLogRecord({"created": 1767225600.0625, "msecs": 62.5, "msg": "a"})
    assert RedactingFormatter("{asctime} {message}", style="{").format(record) == "2026-01-01T00:00:00.062Z a"


def test_a_line_as_long_as_a_path_may_be_is_read_through_once() -> None:
    began = time.process_time()
    redacted("a" * 200_000)
    redacted("/join/" * 30_000)
    redacted("?" * 200_000)
    assert time.process_time() - began < 5


def test_an_error_is_told_by_where_it_was_raised_and_not_by_its_words() -> None:
    log, stream = logging.getLogger("probe"), io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(RedactingFormatter("{levelname} {message}", style="{"))
    log.addHandler(handler)
    try:
        int("Mia Okafor")
    except ValueError:
        log.exception("Internal Server Error: %s", "/athletes/?q=Mia")
    finally:
        log.removeHandler(handler)
    first, *places = stream.getvalue().splitlines()
    assert first == f"ERROR Internal Server Error: /athletes/?{HIDDEN}"
    assert __file__ in places[0]
    assert places[-1].strip() == "builtins.ValueError"
    assert "Mia" not in stream.getvalue()
