"""An act as a tablet sends it, and the two answers there are to one."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings

from athletes.models import Membership
from athletes.services.audit import canonical_json
from gymtrack.lib.keys import derived_key, keyed_digest
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
    """Return the digest of an act as it was sent, whatever the order of its names: 64 signs.

    An act may hold a note or the name of a guest. So the digest is made under a key that the database does not hold:
    nobody with the database alone can try names until one fits, and an erased name stays erased.
    """
    content = {key: sent.get(key) for key in SENT_KEYS}
    plain = hashlib.sha256(canonical_json(content).encode()).hexdigest()
    return keyed_digest(plain, derived_key(settings.AUDIT_KEY, "digests of acts of the floor"))


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
