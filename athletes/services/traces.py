"""What of a person stands outside the gym's tables: signed-in browsers, waiting messages, counters, mail in files."""

from __future__ import annotations

import base64
import binascii
import email
import hashlib
from collections.abc import Collection, Iterator
from email import policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.core.cache import caches
from django.core.cache.backends.db import DatabaseCache
from django.db import connection

from athletes.core.refusal import Refusal
from athletes.models import Account


class MailInTheWay(Refusal):
    """A file of mail names the person and cannot be deleted."""


def end_sessions(accounts: Collection[Account], words: Collection[str]) -> int:
    """End every browser's session of these accounts, and any other in which one of the words waits; return how many.

    A message that was to be shown next may name somebody, and sessions are kept as they were packed.
    """
    ids = {str(account.pk) for account in accounts}
    gone = [
        row.session_key
        for row in Session.objects.iterator()
        if (said := row.get_decoded()).get(SESSION_KEY) in ids or _named(str(said), words)
    ]
    for key in gone:
        SessionStore(key).delete()
    return len(gone)


def forget_in_cache(accounts: Collection[Account], words: Collection[str]) -> int:
    """Delete the entries of the cache that name the person, in plain words or as a digest of them.

    All others stay: among them are the counts that keep somebody from guessing passwords.
    """
    cache = caches["default"]
    if not isinstance(cache, DatabaseCache):
        cache.clear()
        return 0
    needles = [*words, *(str(account.pk) for account in accounts)]
    needles += [hashlib.sha256(word.encode()).hexdigest() for word in words]
    table = connection.ops.quote_name(cache_table())
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT cache_key, value FROM {table}")  # noqa: S608 (the setting's name of a table)
        gone = [key for key, value in cursor.fetchall() if _named(key + _unpacked(value), needles)]
        for key in gone:
            cursor.execute(f"DELETE FROM {table} WHERE cache_key = %s", [key])  # noqa: S608 (the same)
    return len(gone)


def cache_table() -> str:
    """Return the name of the table in which the cache is kept."""
    return str(settings.CACHES["default"]["LOCATION"])


def delete_mail(words: Collection[str]) -> int:
    """Delete the files of mail that have one of the words, where mail goes to files; return how many.

    Raises MailInTheWay for a file that cannot be deleted.
    """
    folder = Path(settings.EMAIL_FILE_PATH)
    if not folder.is_dir():
        return 0
    gone = 0
    for path in sorted(folder.iterdir()):
        try:
            if path.is_file() and _named(_mail_words(path.read_bytes()), words):
                path.unlink()
                gone += 1
        except OSError as error:
            raise MailInTheWay(
                f"A file of mail names this person and cannot be deleted: {path.name}, {error.strerror}. "
                "Nothing was erased."
            ) from error
    return gone


def _named(text: str, words: Collection[str]) -> bool:
    folded = text.casefold()
    return any(word.casefold() in folded for word in words)


def _unpacked(value: Any) -> str:  # noqa: ANN401 (a driver's)
    """Return what a row of the cache holds, as far as it is text: pickled, it keeps text as UTF-8."""
    try:
        return base64.b64decode(value).decode("utf-8", errors="replace")
    except (binascii.Error, ValueError):
        return str(value)


def _mail_words(content: bytes) -> str:
    """Return all that the letters of a file say, whatever it was packed in for the way."""
    letters = content.split(b"\n" + b"-" * 79 + b"\n")
    return "\n".join([content.decode("utf-8", errors="replace"), *(part for each in letters for part in _parts(each))])


def _parts(letter: bytes) -> Iterator[str]:
    message = email.message_from_bytes(letter.lstrip(), _class=EmailMessage, policy=policy.default)
    yield from (str(value) for value in message.values())
    for part in message.walk():
        body = part.get_payload(decode=True)
        if isinstance(body, bytes):
            yield body.decode(part.get_content_charset() or "utf-8", errors="replace")
