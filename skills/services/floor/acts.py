"""An act as a tablet sends it, and the two answers there are to one."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from athletes.models import Membership
from athletes.services.audit import canonical_json
from skills.core.device_times import ActClocks
from skills.core.entries import Mistake
from skills.models import FloorAct

SENT_KEYS = ("kind", "coach", "device_at", "offset_ms", "life", "mono_ms", "body")


@dataclass(frozen=True, slots=True)
class Act:
    """One act. `body` is checked for its kind, ids as UUIDs; `digest` tells what was sent from anything else."""

    id: UUID
    kind: str
    coach_id: UUID
    device_at: datetime
    clocks: ActClocks
    body: Mapping[str, Any]
    digest: str


def digest_of(sent: Mapping[str, Any]) -> str:
    """Return the SHA-256 of an act as it was sent, whatever the order of its names."""
    content = {key: sent.get(key) for key in SENT_KEYS}
    return hashlib.sha256(canonical_json(content).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Call:
    """An act while it is carried out: by whom, and when it happened by the server's clock."""

    by: Membership
    id: UUID
    body: Mapping[str, Any]
    happened_at: datetime
    now: datetime


@dataclass(frozen=True, slots=True)
class Stored:
    """The act is stored, by this call or by one before.

    `held` is whether its coach holds the tablet now: otherwise nothing about people is told with the receipt.
    """

    row: FloorAct
    held: bool


@dataclass(frozen=True, slots=True)
class Refused:
    """The act is not stored. After the codes hand_over, early and trouble it may be sent again as it is."""

    code: str
    reason: str
    mistakes: tuple[Mistake, ...] = ()


class ActRefusedError(ValueError):
    """The act cannot be carried out."""

    def __init__(self, code: str, *mistakes: Mistake) -> None:
        super().__init__(" ".join(mistake.sentence for mistake in mistakes))
        self.code, self.mistakes = code, mistakes
