"""An archive of everything that is kept about somebody, for them, for a minor's guardian, or made by an owner."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from django.db import transaction
from django.utils import timezone

from athletes.access.records import athletes_in_sight
from athletes.core.kept import OUTSIDE
from athletes.core.refusal import Refusal
from athletes.models import Membership, Person
from athletes.services.audit import record_act
from gymtrack.lib.archives import Value, zip_of
from skills.queries.archives import archive_tables

FORMAT: Final = "gymtrack-archive"
VERSION: Final = 1

_README: Final = """\
EVERYTHING THAT {gym} KEEPS ABOUT {name}

Made on {day} by {by}.

What is in here
- data.json has everything, for programs (JSON, UTF-8).
- tables/ has the same as one CSV file for each table, for a spreadsheet. A cell that a spreadsheet could
  take for a formula begins with an apostrophe.
{own}
How to read data.json
- "format" and "version" say how it is built. This is version {version}.
- "made_at" is when it was made, "gym" and "person" are whom it is about.
- "tables" has every table by name, with what it holds ("what"), why it is kept ("why") and how long
  ("how_long"), its "columns", and its "rows". A table without rows is in data.json, and has no CSV file.
- Moments are written as in ISO 8601, with their distance from UTC; the gym's own time zone is {zone}.
- "id" is the name of a row. "words" beside a row are what was written about it, the reason of a caution say;
  they stand in athletes-remark too, where "about" is the id of that row. "attempt" in skills-attemptvoid is
  the id of the attempt that was taken back.
- hold_tenths are tenths of a second, stature_m metres, mass_kg kilograms.
- remark_commitment is SHA-256 of the salt of the remark, a line feed and its text: so the words can be proved.
- acts says who did what, in words.

Others in here
- Coaches stand by name, as on the pages. Other athletes and guardians stand by number or initials.
- Tables that end in "-about-others" hold what the person wrote down about somebody else: when, and not
  what, since that is about the other.

What is left out
- Passwords, keys, codes and digests: nobody can read them back, or whoever had the file could act as you.
- What the gym keeps that is about nobody: skills, steps, settings.
{outside}
Tables
{tables}
"""


class NotTheirs(Refusal):
    """An archive is for who it is about, for a minor's guardian, and for an owner to make."""


@transaction.atomic
def take_archive(*, by: Membership, person: Person) -> bytes:
    """Return a ZIP archive of everything kept about a person, and record that it was taken. Raises NotTheirs.

    All of it is built before anything is recorded or sent, in memory: rows are read 2,000 at a time and kept packed.
    """
    if not may_take(by, person):
        raise NotTheirs("An archive is for who it is about, for a minor's guardian, and for an owner to make.")
    own, now = by.person_id == person.pk, timezone.now().astimezone(person.gym.zone)
    archive = zip_of(
        _head(person, now),
        archive_tables(person, account_id=by.account_id if own else None),
        lambda counts: _readme(by, person, now, counts),
        now,
    )
    content = {"person": person.pk, "bytes": len(archive), "own": own}
    record_act(gym=by.gym, actor=by, act="archive_taken", about=person.pk, content=content)
    return archive


def may_take(by: Membership, person: Person) -> bool:
    """Whether a member may have the archive of a person: themselves, an owner, a minor's guardian."""
    if by.gym_id != person.gym_id or person.erased_at:
        return False
    if by.person_id == person.pk or by.is_owner:
        return True
    return by.role == Membership.Role.GUARDIAN and athletes_in_sight(by).filter(person=person).exists()


def _head(person: Person, now: datetime) -> Mapping[str, Value]:
    gym = person.gym
    return {
        "format": FORMAT,
        "version": VERSION,
        "made_at": now.isoformat(),
        "gym": {"name": gym.name, "slug": gym.slug, "time_zone": gym.time_zone},
        "person": {"id": str(person.pk), "full_name": person.full_name},
    }


def _readme(by: Membership, person: Person, now: datetime, counts: Mapping[str, int]) -> str:
    own = by.person_id == person.pk
    return _README.format(
        gym=person.gym.name,
        name=person.full_name,
        day=f"{now.day} {now:%B %Y, %H:%M}",
        by=person.full_name if own else f"{by.person.full_name}, {by.role}",
        own="" if own else _WITHOUT_LOG_IN,
        version=VERSION,
        zone=person.gym.time_zone,
        outside="".join(f"- {line.what}: kept {line.told_how_long(months=0, pain_days=0)}.\n" for line in OUTSIDE),
        tables="\n".join(f"- {name}: {number}" for name, number in counts.items()),
    )


_WITHOUT_LOG_IN: Final = """\
- Tables of the log-in (account, second factors, where it is signed in) are not in here: the same log-in may
  open other gyms. Whoever signs in by it has them in the archive that they take themselves, under Your data.
"""
