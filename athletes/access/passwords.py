"""What a new password may not be, beside Django's own rules (OWASP ASVS 5.0, chapter 6.2).

Any sign counts, blanks too, and none is asked for; nothing is cut off. No leak is looked up over the network:
whoever runs the site may lay a file of digests beside it.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser
from django.core.checks import CheckMessage, Error
from django.core.exceptions import ValidationError

from athletes.models import Membership

MOST_SIGNS: Final = 128
PRODUCT_WORDS: Final = ("gymtrack", "gym skills", "pullover")
SHORTEST_WORD: Final = 4
LEAST_BESIDE: Final = 6
_DIGEST_SIGNS: Final = 40  # SHA-1 in hexadecimal


class LengthLimit:
    """Refuses what is longer than 128 characters: hashing has its price, and nobody types more."""

    def validate(self, password: str, user: AbstractBaseUser | None = None) -> None:  # noqa: ARG002 (Django's)
        """Raise ValidationError for a longer one."""
        if len(password) > MOST_SIGNS:
            raise ValidationError(self.get_help_text(), code="password_too_long")

    def get_help_text(self) -> str:
        """Return the rule as a sentence."""
        return f"At most {MOST_SIGNS} characters."


class NoNearWords:
    """Refuses what is little more than a word that anybody would try here.

    The words: this product's, the names of the gyms that somebody belongs to, one's own address. An account that
    is still to be stored may carry the name of the gym that it is for as `near_words`.
    """

    def validate(self, password: str, user: AbstractBaseUser | None = None) -> None:
        """Raise ValidationError where fewer than six letters or digits are left beside such a word."""
        folded = _folded(password)
        for word in near_words(user):
            if word in folded and len(folded.replace(word, "")) < LEAST_BESIDE:
                raise ValidationError(
                    "This password is little more than a name that anybody would try here: your gym's, this "
                    "product's or your own address.",
                    code="password_near_word",
                )

    def get_help_text(self) -> str:
        """Return the rule as a sentence."""
        return "Not your gym's name, and not your address."


class NotLeaked:
    """Refuses what stands in the file that `GYMTRACK_BREACHED_PASSWORDS` names, if it names one."""

    def validate(self, password: str, user: AbstractBaseUser | None = None) -> None:  # noqa: ARG002 (Django's)
        """Raise ValidationError for a password whose digest is in the file."""
        if settings.BREACHED_PASSWORDS and is_leaked(password, Path(settings.BREACHED_PASSWORDS)):
            raise ValidationError("This password is known from a leak: others try it first.", code="password_leaked")

    def get_help_text(self) -> str:
        """Return the rule as a sentence."""
        return "Not one that is known from a leak."


def near_words(user: Any) -> list[str]:  # noqa: ANN401 (Django's users: an account, a draft of one, None)
    """Return the words that are too near, folded, of at least four letters or digits."""
    names = [*PRODUCT_WORDS, *getattr(user, "near_words", ())]
    if user is not None:
        names += [user.email, user.email.partition("@")[0], user.email.partition("@")[2].partition(".")[0]]
        names += Membership.objects.filter(account=user.pk, ended_at=None).values_list("gym__name", flat=True)
    return [word for word in map(_folded, names) if len(word) >= SHORTEST_WORD]


def is_leaked(password: str, file: Path) -> bool:
    """Whether the SHA-1 digest of the password stands in a file of digests, by halving: the file may be huge.

    One digest a line, in capitals and in order; what follows the 40 signs of it, a count say, is not looked at.
    """
    wanted = hashlib.sha1(password.encode(), usedforsecurity=False).hexdigest().upper().encode()
    with file.open("rb") as lines:
        low, high = 0, file.stat().st_size
        while low < high:
            middle = (low + high) // 2
            lines.seek(middle)
            if middle:
                lines.readline()  # the rest of a line, which began before
            digest = lines.readline()[:_DIGEST_SIGNS].upper()
            if digest == wanted:
                return True
            if digest and digest < wanted:
                low = middle + 1
            else:
                high = middle
        lines.seek(0)
        return lines.readline()[:_DIGEST_SIGNS].upper() == wanted


def leak_file_is_there(app_configs: object, **_more: object) -> list[CheckMessage]:  # noqa: ARG001 (a check's)
    """Say at the start where the named file cannot be read, and not when somebody chooses a password."""
    if not settings.BREACHED_PASSWORDS or Path(settings.BREACHED_PASSWORDS).is_file():
        return []
    hint = "A file of SHA-1 digests in capitals, one a line, in order; or leave the variable out."
    return [Error("GYMTRACK_BREACHED_PASSWORDS names no file.", hint=hint, id="athletes.E101")]


def _folded(text: str) -> str:
    """Return the letters and digits of a text alone, in no case."""
    return "".join(sign for sign in text.casefold() if sign.isalnum())
