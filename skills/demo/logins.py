"""The log-ins and codes of the demo gym: new ones for each data folder, in a file that only its owner can read."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from skills.demo.cast import DOMAIN

FILE_NAME: Final = "demo_logins.txt"
_ROLES: Final = ("owner", "coach", "athlete", "guardian")
_TABLET: Final = "tablet"
_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is taken for another


def new_password() -> str:
    """Return a random password that can be read out: three groups of four, about 59 bits."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(3))


def keep_logins(folder: Path, password: str) -> None:
    """Write one log-in a role, and their password, into the folder."""
    _write(folder, [_line(role, f"{role}@{DOMAIN}") for role in _ROLES] + [_line("password", password)])


def keep_codes(folder: Path, codes: Mapping[str, str], tablet_code: str) -> None:
    """Add coaches' codes, by the first half of their address, and put that of the tablet that waits in its place."""
    kept = [line for line in kept_logins(folder).splitlines() if not line.startswith(_TABLET)]
    kept += [_line(f"{key}-code", code) for key, code in codes.items()]
    _write(folder, kept + ([_line(_TABLET, tablet_code)] if tablet_code else []))


def _line(name: str, value: str) -> str:
    return f"{name:<12}{value}"


def _write(folder: Path, lines: Iterable[str]) -> None:
    path = folder / FILE_NAME
    path.unlink(missing_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write("".join(f"{line}\n" for line in lines))


def forget_logins(folder: Path) -> None:
    """Remove the file, if there is one."""
    (folder / FILE_NAME).unlink(missing_ok=True)


def kept_logins(folder: Path) -> str:
    """Return what the file says, or '' where there is none."""
    path = folder / FILE_NAME
    return path.read_text("ascii") if path.exists() else ""
