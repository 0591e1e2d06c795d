"""Everything that is kept about one person, table by table, as `athletes.core.kept` declares whose each row is."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import reduce
from operator import or_
from typing import Any, Final
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.models import Q, QuerySet

from athletes.core.act_words import NOBODY, act_sentence
from athletes.core.kept import TABLES, Kept
from athletes.models import (
    Account,
    Athlete,
    AuditEntry,
    ErasureRequest,
    Fact,
    Gym,
    Membership,
    Person,
    Remark,
    Tablet,
)
from athletes.services.remarks import commitment
from gymtrack.lib.archives import Table, Value
from skills.models import ClassPlan, Skill, Step, TrainingSession
from skills.queries.plans_about import plans_about

_BATCH: Final = 2000  # rows at a time

# Who did something to somebody else's record: of such a row the doer has a copy of when, and not of what.
_DOERS: Final = frozenset(
    {"entered_by", "logged_by", "voided_by", "signed_by", "lifted_by", "asked_by", "changed_by", "made_by"}
)
_MOMENTS: Final = ("id", "happened_at", "recorded_at", "asked_at")

# Tables of one's log-in, which may open other gyms too: for oneself alone.
_LOG_INS: Final = ("athletes.Account", "account.", "mfa.", "usersessions.")

# Told otherwise: acts in words, sessions by the library's list of them, of plans one's own places; and what nobody
# could be found by.
ELSEWHERE: Final[Mapping[str, str]] = {
    "athletes.AuditEntry": "acts",
    "sessions.Session": "usersessions-usersession",
    "skills.ClassPlan": "class-plans",
    "athletes.Erasure": "a random number of who was erased; who is in the archive was not",
}

# Secrets and seals: who has one of them could act as somebody, and they say nothing about anybody.
WITHHELD: Final[Mapping[str, Collection[str]]] = {
    "athletes.Account": ("password",),
    "athletes.Membership": ("account",),  # an earlier log-in may have been somebody else's
    "athletes.Invitation": ("digest",),
    "athletes.PrivateLink": ("digest",),
    "athletes.CoachCode": ("digest",),
    "athletes.ApiToken": ("digest",),
    "account.EmailConfirmation": ("key",),
    "usersessions.UserSession": ("session_key",),
    "skills.FloorAct": ("digest",),
}


# Rows that words may have been written about; they stand in a column of their own beside them.
_WORDED: Final = (Fact, ErasureRequest)


@dataclass(frozen=True, slots=True)
class _Ids:
    """By which ids a person's rows are found, who they are, and the words that were written about which row."""

    person: Person
    athletes: tuple[UUID, ...]
    memberships: tuple[UUID, ...]
    remarks: Mapping[str, str]

    @property
    def all(self) -> tuple[UUID, ...]:
        return self.person.pk, *self.athletes, *self.memberships


def archive_tables(person: Person, *, account_id: UUID | None) -> Iterator[Table]:
    """Yield every table with the rows about a person, and of rows about others the moments at which they wrote them.

    Tables of a log-in only where they take the archive themselves, and then of the one that they take it with
    (`account_id`): it may open other gyms, and another one may have been somebody else's.
    """
    ids = _ids_of(person)
    for label, line in TABLES.items():
        if not line.of or label in ELSEWHERE:
            continue
        model = apps.get_model(label)
        if label.startswith(_LOG_INS):
            if account_id:
                yield _about(model, line, _rows(model, person, _of_account(line, account_id)), ids)
            continue
        about, done = _ways(line, ids)
        if about is not None:
            yield _about(model, line, _rows(model, person, about), ids)
        if done is not None:
            rows = _rows(model, person, done if about is None else done & ~about)
            yield _done(model, line, rows)
    yield from _plans(ids)
    yield _acts(ids)


def _of_account(line: Kept, account_id: UUID) -> Q:
    """Return which rows of a log-in's table are of that one."""
    return reduce(or_, (Q((f"{way.removesuffix('memberships__person')}pk", account_id)) for way in line.of))


def _ids_of(person: Person) -> _Ids:
    return _Ids(
        person,
        tuple(Athlete.objects.filter(person=person).values_list("pk", flat=True)),
        tuple(Membership.objects.filter(person=person).values_list("pk", flat=True)),
        _remarks(person),
    )


def _remarks(person: Person) -> Mapping[str, str]:
    """Return the words about a person by the commitment that the row holds, and by the row that they are about.

    An attempt's note and the reason why it was taken back are about the same row; the commitment tells them apart.
    """
    rows = Remark.objects.filter(gym=person.gym_id, subject=person).order_by("pk")
    found: dict[str, str] = {}
    for about, text, salt in rows.values_list("about", "text", "salt"):
        found[str(about)] = f"{found[str(about)]}\n{text}" if str(about) in found else text
        found[commitment(salt, text)] = text
    return found


def _ways(line: Kept, ids: _Ids) -> tuple[Q | None, Q | None]:
    """Return which rows are about the person, and which they wrote about others; None for a table without such."""
    told: dict[bool, list[Q]] = {False: [], True: []}
    for way in line.of:
        told[way.removesuffix("__person") in _DOERS].append(_way(way, ids))
    about, done = (reduce(or_, found) if found else None for found in (told[False], told[True]))
    return about, done


def _way(way: str, ids: _Ids) -> Q:
    if not way.endswith("__person"):
        return Q((way, ids.person.pk))
    rest = way.removesuffix("__person")
    found = ids.athletes if rest.rpartition("__")[2] == "athlete" else ids.memberships
    return Q((f"{rest}__in", found))


def _rows(model: type[models.Model], person: Person, of: Q) -> QuerySet[models.Model]:
    rows = model._default_manager.filter(pk__in=model._default_manager.filter(of).values("pk"))
    fields = model._meta.concrete_fields
    related = [f"{field.name}{_whose(field)}" for field in fields if field.is_relation and field.name != "gym"]
    if any(field.name == "gym" for field in fields):
        rows = rows.filter(gym=person.gym_id)
    return (rows.select_related(*related) if related else rows).order_by("pk")


def _whose(field: Any) -> str:  # noqa: ANN401 (any foreign key)
    return "__person" if field.related_model in {Membership, Athlete} else ""


def _about(model: type[models.Model], line: Kept, rows: QuerySet[models.Model], ids: _Ids) -> Table:
    held = WITHHELD.get(model._meta.label, ())
    fields = [field for field in model._meta.concrete_fields if field.name not in {"gym", *held}]
    columns = [field.name for field in fields]
    told = ([_value(row, field, ids) for field in fields] for row in rows.iterator(_BATCH))
    if issubclass(model, _WORDED):
        told = ([*row, _words_of(dict(zip(columns, row, strict=True)), ids)] for row in told)
        return Table(_name(model), _words(line, ids.person.gym), [*columns, "words"], told)
    return Table(_name(model), _words(line, ids.person.gym), columns, told)


def _words_of(row: Mapping[str, Value], ids: _Ids) -> str:
    kept = row.get("remark_commitment")
    return "" if kept == "" else ids.remarks.get(str(kept), ids.remarks.get(str(row["id"]), ""))


def _done(model: type[models.Model], line: Kept, rows: QuerySet[models.Model]) -> Table:
    names = [field.name for field in model._meta.concrete_fields if field.name in _MOMENTS]
    told = ([_plain(value) for value in row] for row in rows.values_list(*names).iterator(_BATCH))
    words = {"what": f"Written down about somebody else, whose data it is: here are the moments. {line.what}"}
    return Table(f"{_name(model)}-about-others", words, names, told)


def _name(model: type[models.Model]) -> str:
    return f"{model._meta.app_label}-{model._meta.model_name}"


def _words(line: Kept, gym: Gym) -> dict[str, str]:
    periods = {"months": gym.keep_months_after_leaving, "pain_days": gym.keep_pain_notes_days}
    return {"what": line.what, "why": line.why, "how_long": line.told_how_long(**periods)}


def _value(row: models.Model, field: Any, ids: _Ids) -> Value:  # noqa: ANN401 (any column)
    if field.is_relation:
        other = getattr(row, field.name)
        return None if other is None else _named(other, ids)
    value = getattr(row, field.name)
    if row._meta.label == "mfa.Authenticator" and field.name == "data":
        return str(value.get("name", ""))  # what a passkey is called; the rest is secret
    return _plain(value)


def _plain(value: Any) -> Value:  # noqa: ANN401 (any column's)
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    plain: Value = value
    return plain


def _named(other: models.Model, ids: _Ids) -> str:
    """Return what a row points to as pages name it; by its id what has no name."""
    naming = _NAMES.get(type(other))
    return naming(other, ids) if naming else str(other.pk)


def _person_name(person: Person, ids: _Ids) -> str:
    return person.full_name if person.pk == ids.person.pk else person.initials


def _member_name(member: Membership, ids: _Ids) -> str:
    if member.person_id != ids.person.pk and member.is_staff_member:
        return member.board_name(ids.person.gym)
    return f"{_person_name(member.person, ids)}, {member.role}"


def _session_name(session: TrainingSession, gym: Gym) -> str:
    return f"{session.name}, {session.starts_at.astimezone(gym.zone):%Y-%m-%d %H:%M}"


# Others stand by the name that they have on pages: staff in full, athletes and guardians by initials.
_NAMES: Final[Mapping[type[models.Model], Callable[[Any, _Ids], str]]] = {
    Person: _person_name,
    Membership: _member_name,
    Athlete: lambda athlete, ids: f"{athlete.number} {_person_name(athlete.person, ids)}",
    Account: lambda account, _ids: str(account.email),
    Step: lambda step, _ids: f"{step.code} {step.name}",
    Skill: lambda skill, _ids: str(skill.name),
    TrainingSession: lambda session, ids: _session_name(session, ids.person.gym),
    Tablet: lambda tablet, _ids: str(tablet.name),
}


def _plans(ids: _Ids) -> Iterator[Table]:
    """Yield what plans of classes say of the person, and the moments of plans that they made for others."""
    gym, line = ids.person.gym, TABLES["skills.ClassPlan"]
    found = plans_about(gym, ids.athletes, _BATCH)
    columns = ("id", "session", "happened_at", "number", "might_do", "places", "asked_for", "kept_apart_from")
    told = (
        (
            str(plan.id),
            _session_name(plan.session, gym),
            plan.happened_at.isoformat(),
            plan.number,
            plan.might_do,
            plan.places,
            plan.asked_for,
            plan.kept_apart,
        )
        for plan in found
    )
    yield Table("class-plans", _words(line, gym), columns, told)
    yield _done(ClassPlan, line, _rows(ClassPlan, ids.person, Q(made_by__in=ids.memberships)))


def _acts(ids: _Ids) -> Table:
    """Return what the person did, and what was done about them, in words; whom others' acts were about is left out."""
    of_gym = AuditEntry.objects.filter(gym=ids.person.gym_id)
    about = reduce(or_, (Q(content__contains=str(each)) for each in ids.all))
    entries = of_gym.filter(Q(actor__in=ids.memberships) | Q(about__in=ids.all) | about)
    entries = entries.select_related("actor__person").order_by("position")
    told = (_act(entry, ids) for entry in entries.iterator(_BATCH))
    words = {
        "what": "Who did what: acts by the person, and acts about them",
        "why": "to prove it",
        "how_long": "for good",
    }
    return Table("acts", words, ("position", "recorded_at", "who", "did", "by_the_person"), told)


def _act(entry: AuditEntry, ids: _Ids) -> Sequence[Value]:
    who = _named(entry.actor, ids) if entry.actor else NOBODY
    did = act_sentence(entry.act, json.loads(entry.content))
    return entry.position, entry.recorded_at.isoformat(), who, did, entry.actor_id in ids.memberships
