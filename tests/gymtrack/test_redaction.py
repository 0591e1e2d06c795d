"""Log lines: what is hidden in them, and that each is one line."""

import io
import logging

import pytest

from gymtrack.lib.redaction import HIDDEN, RedactingFormatter, one_line, redacted


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ('"GET /join/K7QM2XHV9PTR/ HTTP/1.1" 302 0', f'"GET /join/{HIDDEN}/ HTTP/1.1" 302 0'),
        ('"GET /link/a-_9Zc/ HTTP/1.1" 302 0', f'"GET /link/{HIDDEN}/ HTTP/1.1" 302 0'),
        ("Not Found: /account/password/new/3-c9x-77/", f"Not Found: /account/password/new/{HIDDEN}/"),
        ("Gone: /account/e-mail/confirm/MQ:1w:xx/", f"Gone: /account/e-mail/confirm/{HIDDEN}/"),
        ("/join/accept/", "/join/accept/"),
        ("/account/password/new/done/", "/account/password/new/done/"),
        ("GET /athletes/?q=Mia+Okafor HTTP/1.1", f"GET /athletes/?{HIDDEN} HTTP/1.1"),
        ("no account for mia.okafor+gym@harbour.example here", f"no account for {HIDDEN} here"),
        ("Authorization: Bearer abc.def-1", f"Authorization: Bearer {HIDDEN}"),
        ("Is the class over? Yes.", "Is the class over? Yes."),
        ("kept 12 of 13 rows", "kept 12 of 13 rows"),
    ],
)
def test_secrets_queries_and_addresses_are_hidden(written: str, read: str) -> None:
    assert redacted(written) == read


def test_whoever_writes_a_line_end_writes_no_second_line() -> None:
    assert one_line("/nowhere\n2026-01-01 INFO forged\r\x1b[2K\u2028end") == "/nowhere 2026-01-01 INFO forged [2K end"


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
