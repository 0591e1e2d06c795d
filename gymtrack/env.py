"""Typed readers of the environment: a bad value is refused by name, never guessed at."""

from __future__ import annotations

import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

_YES = frozenset({"1", "true", "yes", "on"})
_NO = frozenset({"0", "false", "no", "off", ""})


def text(name: str, default: str = "") -> str:
    """Return the variable `name`, or `default` where it is not set."""
    return os.environ.get(name, default)


def flag(name: str, *, default: bool = False) -> bool:
    """Return the variable `name` as yes or no; raises ImproperlyConfigured on any other word."""
    word = os.environ.get(name)
    if word is None:
        return default
    if word.strip().lower() in _YES:
        return True
    if word.strip().lower() in _NO:
        return False
    message = f"{name} must be yes or no (1, true, yes, on, 0, false, no, off), not {word!r}."
    raise ImproperlyConfigured(message)


def words(name: str, default: str = "") -> list[str]:
    """Return the comma-separated words of the variable `name`, blanks left out."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def folder(name: str, default: Path) -> Path:
    """Return the folder named by the variable, as an absolute path; it need not exist yet."""
    return Path(text(name) or default).expanduser().resolve()


def whole(name: str, default: int) -> int:
    """Return the variable `name` as a whole number above zero; raises ImproperlyConfigured on anything else."""
    word = text(name).strip()
    if not word:
        return default
    if not (word.isascii() and word.isdigit() and int(word)):
        message = f"{name} must be a whole number above zero, not {word!r}."
        raise ImproperlyConfigured(message)
    return int(word)


def choice(name: str, default: str, *allowed: str) -> str:
    """Return the variable `name`, which must be one of `allowed`; raises ImproperlyConfigured on another word."""
    word = text(name).strip().lower() or default
    if word not in allowed:
        message = f"{name} must be {' or '.join(allowed)}, not {word!r}."
        raise ImproperlyConfigured(message)
    return word
