"""Log lines without secrets and addresses of people, and in one line each.

A path with a secret in it (an invitation's code, a private link's token, a key to set a new password or to confirm an
address) may stand in the log lines of any library, and so may an e-mail address. Every handler rewrites what it is
about to write. Query strings go too: what somebody searched for is a name.
"""

from __future__ import annotations

import logging
import re
import time
from typing import Final

HIDDEN: Final = "[hidden]"
_SLASH: Final = r"(?:/|%2F)"
# The part of an address after each of these is a secret, up to the next slash, whatever it holds.
_SECRET_PATHS: Final = re.compile(
    rf"({_SLASH}(?:join|link|password{_SLASH}new|address{_SLASH}confirm){_SLASH})"
    rf"(?!(?:accept|done|sent)/)(?:(?!{_SLASH}|\sHTTP/)[^?])+",
    re.IGNORECASE,
)
_QUERY: Final = re.compile(r"(?<=[^\s?])\?(?=\S)\S+")
# No longer than an address may be (RFC 5321, 4.5.3.1.1), so that a long line without one is read through once.
_EMAIL: Final = re.compile(r"[\w.!#$%&'*+/=?^`{|}~-]{1,64}(?:@|%40)[\w-]+(?:\.[\w-]+)*", re.IGNORECASE)
_KEY: Final = re.compile(r"\b(Bearer|Tablet)\s+\S+", re.IGNORECASE)
# Line ends, what moves a terminal's cursor or colours it, and what turns the direction of writing around.
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]+")


def redacted(text: str) -> str:
    """Return the text with secrets, query strings and e-mail addresses hidden."""
    text = _SECRET_PATHS.sub(rf"\1{HIDDEN}", text)
    text = _KEY.sub(rf"\1 {HIDDEN}", text)
    text = _EMAIL.sub(HIDDEN, text)
    return _QUERY.sub(f"?{HIDDEN}", text)


def one_line(text: str) -> str:
    """Return the text without line ends and other control characters: who writes one cannot forge a log line."""
    return _CONTROL.sub(" ", text)


class RedactingFormatter(logging.Formatter):
    """Formats a record as one redacted line, its moment in UTC; of an error, besides, where in the code it was raised.

    The error's own words are left out: they repeat what was sent, as does a line of the code's data.
    """

    converter = staticmethod(time.gmtime)
    default_time_format = "%Y-%m-%dT%H:%M:%S"
    default_msec_format = "%s.%03dZ"

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, and below it the places that an error went through."""
        plain = logging.makeLogRecord(record.__dict__ | {"exc_info": None, "exc_text": None, "stack_info": None})
        line = redacted(one_line(super().format(plain)))
        return f"{line}\n{_places(record)}" if record.exc_info and record.exc_info[0] else line


def _places(record: logging.LogRecord) -> str:
    kind, _, trace = record.exc_info or (None, None, None)
    places = []
    while trace:
        code = trace.tb_frame.f_code
        places.append(f"  {code.co_filename}:{trace.tb_lineno} in {code.co_name}")
        trace = trace.tb_next
    return "\n".join([*places, f"  {kind.__module__}.{kind.__qualname__}" if kind else ""])
