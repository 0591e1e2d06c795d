"""The log-ins of the demo gym: one password a data folder, kept in a file that only its owner can read."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Final

from skills.demo.cast import DOMAIN

FILE_NAME: Final = "demo_logins.txt"
_ROLES: Final = ("owner", "coach", "athlete", "guardian")
_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is taken for another


def new_password() -> str:
    """Return a random password that can be read out: three groups of four, about 59 bits."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(3))


def keep_logins(folder: Path, password: str) -> None:
    """Write one log-in a role, and their password, into the folder."""
    path = folder / FILE_NAME
    path.unlink(missing_ok=True)
    lines = [*(f"{role:<10}{role}@{DOMAIN}" for role in _ROLES), f"{'password':<10}{password}"]
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write("\n".join(lines) + "\n")


def forget_logins(folder: Path) -> None:
    """Remove the file, if there is one."""
    (folder / FILE_NAME).unlink(missing_ok=True)


def kept_logins(folder: Path) -> str:
    """Return what the file says, or '' where there is none."""
    path = folder / FILE_NAME
    return path.read_text("ascii") if path.exists() else ""
