"""Keeping people's names out of facts that can never be emptied: what a bar is called, what a step says."""

from __future__ import annotations

from collections.abc import Iterable

from athletes.core.mentions import names_somebody
from athletes.core.refusal import Refusal
from athletes.models import Person

NO_NAME = "No person’s name belongs here: it could not be taken out again when what is kept about them is erased."


class NameWithin(Refusal):
    """A text that stays for good names somebody of the gym."""

    def __init__(self, field: str) -> None:
        super().__init__(NO_NAME)
        self.field = field


def refuse_names(*, gym_id: object, text: str, field: str) -> None:
    """Raise NameWithin, about that field, where a text has the full name of anybody whom the gym knows; one query."""
    if is_named_in([text], gym_id=gym_id):
        raise NameWithin(field)


def is_named_in(texts: Iterable[str], *, gym_id: object) -> bool:
    """Whether one of these texts has the full name of anybody whom the gym knows; one query."""
    people = Person.objects.filter(gym=gym_id, erased_at=None).values_list("full_name", flat=True)
    return names_somebody("\n".join(texts), people)
