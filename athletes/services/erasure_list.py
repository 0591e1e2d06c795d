"""The list of erasures, in a file outside of the database, so that a backup which is restored is erased again.

A line has the gym's id, the person's random subject id and the moment: nothing that could be read by who has no
database in which that id stands for somebody.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core import checks
from django.db import DatabaseError

from athletes.core.refusal import Refusal
from athletes.models import Erasure, Person
from gymtrack.lib.keys import derived_key
from gymtrack.lib.sealed_lines import append_line, read_lines


class ListInTheWay(Refusal):
    """The list cannot be written."""


@dataclass(frozen=True, slots=True)
class Noted:
    """One erasure of the list."""

    gym_id: UUID
    subject: UUID
    at: datetime


def list_path() -> Path:
    """Return where the list is: beside the database, and to be kept where backups do not overwrite it."""
    return Path(settings.DATA_DIR) / "erasures.jsonl"


def note_erasure(erasure: Erasure) -> None:
    """Put an erasure on the list, on the disk before this returns; raises ListInTheWay."""
    content = {"gym": str(erasure.gym_id), "subject": str(erasure.subject), "at": erasure.happened_at.isoformat()}
    try:
        append_line(list_path(), content, _key())
    except OSError as error:
        raise ListInTheWay(
            f"The list of erasures cannot be written ({error.strerror}), so nothing was erased: a backup that is "
            "restored later would bring this person back."
        ) from error


def noted_erasures() -> tuple[list[Noted], list[int]]:
    """Return the erasures of the list in its order, and the numbers of the lines that are not ours."""
    good, bad = [], []
    for line in read_lines(list_path(), _key()):
        if line.holds:
            told = line.content
            good.append(Noted(UUID(told["gym"]), UUID(told["subject"]), datetime.fromisoformat(told["at"])))
        else:
            bad.append(line.number)
    return good, bad


def people_to_erase_again(noted: Sequence[Noted]) -> Iterator[tuple[Noted, Person]]:
    """Yield whom the list says were erased and who stand in the database as if they never had been."""
    waiting = {row.pk: row for row in Person.objects.filter(erased_at=None, pk__in=[each.subject for each in noted])}
    for each in noted:
        person = waiting.pop(each.subject, None)
        if person and person.gym_id == each.gym_id:
            yield each, person


def erasures_stand(databases: Sequence[str] | None = None, **_kwargs: Any) -> list[checks.CheckMessage]:  # noqa: ANN401
    """System check (tag `database`): list and database know the same erasures.

    Silent where the tables are those of another version, before a migration.
    """
    if not databases:
        return []
    try:
        return _warnings()
    except DatabaseError:
        return []


def _warnings() -> list[checks.CheckMessage]:
    noted, bad = noted_erasures()
    found = [_warning(bad, "has lines that this project did not write", "Put back the list from a copy.", "W001")]
    again = [person.pk for _, person in people_to_erase_again(noted)]
    hint = "An older copy of the database was restored: run `manage.py replay_erasures`."
    found.append(_warning(again, "names people who stand in the database again", hint, "W002"))
    unknown = set(Erasure.objects.values_list("subject", flat=True)) - {each.subject for each in noted}
    hint = "A backup that is restored would bring them back: put back the list from a copy, keep it with the backups."
    found.append(_warning(list(unknown), "lacks erasures that the database knows", hint, "W003"))
    return [warning for warning in found if warning]


def _warning(which: Sequence[object], words: str, hint: str, number: str) -> checks.Warning | None:
    if not which:
        return None
    return checks.Warning(f"The list of erasures {words}: {len(which)}.", hint=hint, id=f"athletes.{number}")


def _key() -> bytes:
    return derived_key(settings.AUDIT_KEY, "list of erasures")
