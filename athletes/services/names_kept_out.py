"""Keeping people's names out of facts that can never be emptied: what a bar is called, what a step says."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from athletes.core.mentions import names_somebody
from athletes.core.refusal import Refusal
from athletes.models import Person

NO_NAME = "No person’s name belongs here: it could not be taken out again when what is kept about them is erased."


class NameWithin(Refusal):
    """A text that stays for good names somebody of the gym. A service's own kind of it names the field."""

    def __init__(self) -> None:
        super().__init__(NO_NAME)


def refuse_names(*, gym_id: UUID, text: str, kind: type[NameWithin]) -> None:
    """Raise that kind of NameWithin where a text has the full name of anybody whom the gym knows; one query."""
    if is_named_in([text], gym_id=gym_id):
        raise kind


def is_named_in(texts: Iterable[str], *, gym_id: UUID) -> bool:
    """Whether one of these texts has the full name of anybody whom the gym knows; one query."""
    people = Person.objects.filter(gym=gym_id, erased_at=None).values_list("full_name", flat=True)
    return names_somebody("\n".join(texts), people)
