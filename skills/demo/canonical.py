"""A gym as bytes: what two gyms must have in common to be the same one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Final
from uuid import UUID

from django.db.models import Model

from athletes.models import ApiToken, AuditEntry, AuditHead, CoachCode, Gym, Tablet
from gymtrack.lib.guards import gym_models
from skills.models import FloorAct

# Keys to the API are credentials, and so is what is kept of tablets' keys and coaches' codes. The seals of the audit
# chain hang on an installation's own key, and on when its acts were recorded; so do the digests of what tablets sent.
_LEFT_OUT: Final[Mapping[type[Model], frozenset[str]]] = {
    AuditEntry: frozenset({"recorded_at", "seal"}),
    AuditHead: frozenset({"seal"}),
    CoachCode: frozenset({"digest"}),
    FloorAct: frozenset({"digest"}),
    Tablet: frozenset({"code_digest", "key_digest"}),
}


def canonical_dump(gym: Gym) -> bytes:
    """Return all rows of a gym as canonical JSON: tables by name, rows by key, columns by name, ASCII.

    Accounts belong to no gym, so no address and no password is in it.
    """
    tables: dict[str, list[dict[str, object]]] = {Gym._meta.label: [_row(gym, frozenset())]}
    for model in gym_models():
        if model is not ApiToken:
            rows = model._default_manager.filter(gym=gym).order_by("pk")
            tables[model._meta.label] = [_row(row, _LEFT_OUT.get(model, frozenset())) for row in rows]
    return json.dumps(tables, sort_keys=True, separators=(",", ":"), ensure_ascii=True, default=_plain).encode()


def _row(row: Model, left_out: frozenset[str]) -> dict[str, object]:
    return {
        field.attname: getattr(row, field.attname)
        for field in row._meta.concrete_fields
        if field.attname not in left_out
    }


def _plain(value: object) -> str:
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        case date():
            return value.isoformat()
        case UUID() | Decimal():
            return str(value)
    raise TypeError(f"{type(value).__name__} has no canonical form")
