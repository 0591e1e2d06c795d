"""Words that stand for one person and nobody else, put into every place that could hold them, and looked for."""

import base64
import binascii
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.cache import caches
from django.db import connection, models, transaction
from django.utils import timezone

from athletes.core.kept import TABLES
from athletes.models import AuditEntry, Gym, Membership, Person
from athletes.services.audit import record_act

NAME = "Xylia Quetzalcanary"
MAIL = "xylia@quetzalcanary.example"
WORD = "the quetzalcanary said so"
NETWORK = "203.0.113.77"  # RFC 5737: nobody's
NEEDLES = ("quetzalcanary", NETWORK)

# What a row needs so that the database takes it, where the plainest value of each column would not do.
_SPECIAL: dict[str, dict[str, Any]] = {
    "athletes.Invitation": {"role": "athlete", "became": None},
    "athletes.Membership": {"role": "coach", "athlete": None},
    "skills.SignOff": {"decision": "passed", "clearance": "spotted"},
    "skills.Attempt": {"source": "judged"},
    "skills.Bar": {"height_mm": 2500},
    "skills.WorkPlace": {"capacity": 2},
}


class Seeding:
    """Makes one row of every table that can lead to a person, all of them theirs, with canaries in what can hold words.

    Any table that is added later is seeded too, by its columns alone.
    """

    def __init__(self, gym: Gym, person: Person, member: Membership) -> None:
        self._rows: dict[str, models.Model] = {
            "athletes.Gym": gym,
            "athletes.Person": person,
            "athletes.Membership": member,
            "athletes.Account": member.account,
        }

    def seed_all(self) -> set[str]:
        """Make the rows and return the tables, by label, in which the person now stands."""
        Person.objects.filter(pk=self._rows["athletes.Person"].pk).update(
            full_name=NAME, email=MAIL, notes=WORD, birth_on="1990-03-14"
        )
        told = [label for label, line in TABLES.items() if line.of and apps.is_installed(_app_of(label))]
        for label in told:
            self.row(label)
        return {*told}

    def name_things(self) -> set[str]:
        """Name a thing of the gym after the person in every table of such, and return the tables, by label."""
        named = {
            label
            for label, line in TABLES.items()
            if line.gyms_words and not line.of and label != "athletes.Gym" and not _is_fixed(label)
        }
        for label in sorted(named):
            self.row(label)
        return named

    def row(self, label: str) -> models.Model:
        """Return the row of a table, made where there was none."""
        if label not in self._rows:
            model = apps.get_model(label)
            if row := self._there_already(model, label):
                return self._rows.setdefault(label, row)
            values = {field.name: self._value(field, label) for field in _to_fill(model)}
            if model is AuditEntry:  # which has a seal to fit
                return self._rows.setdefault(label, self._act())
            row = model(**{**values, **_SPECIAL.get(label, {})})
            row.save(force_insert=True)
            self._rows[label] = row
        return self._rows[label]

    def _act(self) -> AuditEntry:
        member = self._rows["athletes.Membership"]
        assert isinstance(member, Membership)
        with transaction.atomic():
            return record_act(gym=member.gym, actor=member, act="counted", about=member.pk, content={})

    def _there_already(self, model: type[models.Model], label: str) -> models.Model | None:
        """What came with the account by itself, such as its address."""
        if not label.startswith("account."):
            return None
        return model._default_manager.filter(**{TABLES[label].of[0]: self._rows["athletes.Person"]}).first()

    def _value(self, field: Any, label: str) -> object:
        line = TABLES[label]
        if isinstance(field, models.ForeignKey):
            target = field.related_model._meta.label
            optional = field.null and target not in {"athletes.Athlete", "athletes.Person", "athletes.Membership"}
            return None if optional else self.row(target)
        if field.name in line.gyms_words:
            return _gyms_words(field)
        return _words(field) if field.name in line.empties else _plainest(field)


def _app_of(label: str) -> str:
    name = label.split(".", maxsplit=1)[0]
    return {"account": "allauth.account", "mfa": "allauth.mfa", "usersessions": "allauth.usersessions"}.get(name, name)


def _to_fill(model: type[models.Model]) -> Iterator[Any]:
    for field in model._meta.concrete_fields:
        if not field.primary_key or field.is_relation:
            yield field


def _gyms_words(field: Any) -> object:
    """A thing that the gym named after somebody; but a fact, which nobody changes, and a list, which has no name."""
    fixed = _is_fixed(field.model._meta.label) or isinstance(field, models.JSONField)
    return _plainest(field) if fixed else f"Bar of {NAME}"


def _is_fixed(label: str) -> bool:
    return bool(getattr(apps.get_model(label), "append_only", False))


def _words(field: Any) -> object:
    if isinstance(field, models.GenericIPAddressField):
        return NETWORK
    if isinstance(field, models.JSONField):
        return {"said": WORD}
    if isinstance(field, models.EmailField):
        return MAIL
    return f"{NAME} {WORD}"[: field.max_length or 200]


def _plainest(field: Any) -> object:
    now = timezone.now()
    if field.has_default() or field.null:
        return field.get_default()
    if field.choices and not field.blank:
        return field.choices[0][0]
    if isinstance(field, models.DateTimeField):
        return now + timedelta(hours=1) if field.name.startswith("until") else now
    if isinstance(field, models.DateField):
        return now.date()
    if isinstance(field, models.BooleanField):
        return True
    return "" if field.blank else ("x" if isinstance(field, models.CharField | models.TextField) else 7)


def found_in(text: str) -> list[str]:
    folded = text.casefold()
    return [needle for needle in NEEDLES if needle in folded]


def tables_with_canaries() -> dict[str, list[str]]:
    """Every row of the whole database that has one, by table: packed values are unpacked."""
    found: dict[str, list[str]] = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")  # noqa: S608 (names of our tables)
            for row in cursor.fetchall():
                if found_in(" ".join(_unpacked(value) for value in row)):
                    found.setdefault(table, []).append(repr(row))
    for session in Session.objects.all():
        if found_in(str(session.get_decoded())):
            found.setdefault("django_session", []).append(session.session_key)
    return found


def _unpacked(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    try:
        return text + base64.b64decode(text, validate=True).decode("utf-8", errors="replace")
    except (binascii.Error, ValueError):
        return text


def files_with_canaries(folder: Path) -> list[str]:
    return [
        path.name
        for path in sorted(folder.rglob("*"))
        if path.is_file() and found_in(path.read_bytes().decode("utf-8", errors="replace"))
    ]


def bytes_of_database() -> str:
    """The file of SQLite's database with its write-ahead log, as it lies on the disk."""
    name = str(connection.settings_dict["NAME"])
    parts = [Path(name + end) for end in ("", "-wal")]
    return "".join(part.read_bytes().decode("latin-1") for part in parts if part.exists())


def fill_cache() -> None:
    """What counts of sign-ins and messages leave there."""
    cache = caches["default"]
    cache.set(f"tries:{MAIL}", 3)
    cache.set("next_message", {"said": f"{NAME} can sign in"})
