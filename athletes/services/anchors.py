"""Anchors of the audit chains: how long a chain was and how it ended, kept outside of the database.

A chain from which the last acts were taken, head and all, is whole in itself; it shows only beside an anchor that was
made before. Whoever has the key as well as the files can make a new chain and new anchors: against that only a copy of
an anchor helps that they cannot reach, on paper or in somebody else's mail.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils import timezone

from athletes.models import AuditEntry, AuditHead, Gym
from gymtrack.lib.keys import derived_key
from gymtrack.lib.sealed_lines import append_line, read_lines


@dataclass(frozen=True, slots=True)
class Anchor:
    """What was known of a gym's chain once: its number in the file, length, the seal of its last act, the moment."""

    number: int
    gym_id: UUID
    length: int
    seal: str
    at: str


def anchors_path() -> Path:
    """Return where anchors are appended to."""
    return Path(settings.DATA_DIR) / "anchors.jsonl"


def anchor_chain(gym: Gym) -> str:
    """Append the head of a gym's chain to the file, on the disk before this returns; return the line.

    Raises OSError where the file cannot be written.
    """
    head = AuditHead.objects.get(gym=gym)
    content: dict[str, str | int] = {
        "gym": str(gym.pk),
        "name": gym.slug,
        "length": head.length,
        "head": head.seal,
        "at": timezone.now().isoformat(timespec="seconds"),
    }
    return append_line(anchors_path(), content, _key())


def read_anchors(path: Path) -> tuple[list[Anchor], list[int]]:
    """Return the anchors of a file, and the numbers of the lines that this installation did not write."""
    good, bad = [], []
    for line in read_lines(path, _key()):
        if line.holds:
            good.append(_anchor(line.number, line.content))
        else:
            bad.append(line.number)
    return good, bad


def broken_anchors(gym: Gym, anchors: Iterable[Anchor]) -> list[Anchor]:
    """Return the anchors of this gym that its chain does not reach, or at which it had another act."""
    mine = [anchor for anchor in anchors if anchor.gym_id == gym.pk and anchor.length]
    seals = AuditEntry.objects.filter(gym=gym, position__in={anchor.length for anchor in mine})
    found = dict(seals.values_list("position", "seal"))
    return [anchor for anchor in mine if found.get(anchor.length) != anchor.seal]


def _anchor(number: int, told: Any) -> Anchor:  # noqa: ANN401 (what a line says)
    return Anchor(number, UUID(told["gym"]), told["length"], told["head"], told["at"])


def _key() -> bytes:
    return derived_key(settings.AUDIT_KEY, "anchors of the audit chains")
