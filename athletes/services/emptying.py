"""Emptying the tables of one person, as `athletes.core.kept` declares it: also those of apps above this one."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import reduce
from operator import or_
from typing import Any, Final

from django.apps import apps
from django.db import models
from django.db.models import Q, QuerySet

from athletes.core.kept import ERASED, TABLES, Erasing, Kept
from athletes.core.mentions import whole_words
from athletes.models import Gym, Person, Remark

# Log-ins may be another gym's too: `athletes.services.log_ins` sees to them.
_OF_NO_GYM: Final = ("athletes.Account", "account.", "mfa.", "usersessions.", "sessions.")


def empty_tables(person: Person) -> dict[str, int]:
    """Delete and empty the person's rows in every table of a gym; return how many rows of which table."""
    counts = {}
    for model, line in _tables_of_gyms():
        rows = model._default_manager.filter(_rows_of(line, person), gym=person.gym_id)
        if line.erasing is Erasing.DELETE:
            counts[model._meta.label], _ = rows.delete()
        elif line.erasing is Erasing.EMPTY:
            counts[model._meta.label] = rows.update(**_blanks(model, line))
    return {label: number for label, number in counts.items() if number}


def empty_mentions(gym: Gym, words: Collection[str]) -> int:
    """Write "erased" wherever somebody else's note, or a name that the gym gave a thing, has one of these words.

    Returns how many rows that were. The commitment to such a note cannot be proved any more.
    """
    return sum(_replaced(rows, column, words) for rows, column in _words_of(gym)) if words else 0


def _tables_of_gyms() -> Iterator[tuple[type[models.Model], Kept]]:
    for label, line in TABLES.items():
        if line.of and not label.startswith(_OF_NO_GYM):
            yield apps.get_model(label), line


def _rows_of(line: Kept, person: Person) -> Q:
    return reduce(or_, (Q((way, person.pk)) for way in line.of))


def _blanks(model: type[models.Model], line: Kept) -> dict[str, Any]:
    return {name: _blank(model._meta.get_field(name)) for name in line.empties}


def _blank(field: Any) -> object:  # noqa: ANN401 (any column)
    if field.name == "full_name":
        return ERASED
    return None if field.null else ""


def _words_of(gym: Gym) -> Iterator[tuple[QuerySet[Any], str]]:
    yield Remark.objects.filter(gym=gym), "text"
    yield Person.objects.filter(gym=gym), "notes"
    for label, line in TABLES.items():
        model = apps.get_model(label) if line.gyms_words else None
        if model is None or getattr(model, "append_only", False) or label == "athletes.Gym":
            continue
        for column in line.gyms_words:
            if not isinstance(model._meta.get_field(column), models.JSONField):
                yield model._default_manager.filter(gym=gym), column


def _replaced(rows: QuerySet[Any], column: str, words: Collection[str]) -> int:
    some = reduce(or_, (Q((f"{column}__icontains", word)) for word in words))
    whole = whole_words(words)
    number = 0
    for pk, text in rows.filter(some).values_list("pk", column):
        if (put := whole.sub(ERASED, text)) != text:
            number += rows.filter(pk=pk).update(**{column: put})
    return number
