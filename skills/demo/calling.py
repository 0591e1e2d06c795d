"""Whom to call in the demo gym, and whose readiness screening is noted. All invented.

The numbers lie in a range that the British regulator Ofcom keeps free for stories (07700 900000 to 900999; from
memory): nobody is reached by them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Final

from athletes.models import Athlete, EmergencyContact, Membership, Screening
from skills.core.days import moment_of
from skills.demo.cast import GUARDIAN, WARD, WITHOUT_CONSENT_NUMBERS
from skills.demo.diary import Diary
from skills.demo.simulation import DemoGym
from skills.demo.timetable import local_us

# By the athlete's number: name, relation, telephone. Of minors one has two; of one minor nobody is named yet.
CONTACTS: Final = (
    (WARD, GUARDIAN, "father", "+44 7700 900102"),
    (WARD, "林美玉", "grandmother", "+44 7700 900103"),
    (9, "서은채", "mother", "+44 7700 900109"),
    (15, "水嶋あおい", "mother", "+44 7700 900115"),
    (20, "Chidi Nwokolie", "father", "+44 7700 900120"),
    (1, "Duarte Valadão", "brother", "+44 7700 900101"),
    (26, "Sigurd Skårvik", "neighbour", "+44 7700 900126"),
)

# Everybody was screened on joining but those about whom nothing was said yet. How many days after the last day of the
# story it counts for the last time, by the athlete's number; negative where it has expired, None without an end.
LASTS_DAYS: Final[Mapping[int, int | None]] = {9: 14, 13: -20, 30: None}


def put_calling(owner: Membership, athletes: Mapping[str, Athlete], played: DemoGym) -> None:
    """Note on the day of joining whom to call, and that somebody was screened that day."""
    joined = {diary.trainee.number: (athletes[diary.trainee.id], diary) for diary in played.diaries}
    for number, name, relation, phone in CONTACTS:
        athlete, diary = joined[number]
        told = {"name": name, "relation": relation, "phone": phone, "entered_by": owner}
        EmergencyContact.objects.create(gym=owner.gym, athlete=athlete, entered_at=_entered_at(diary), **told)
    for number, (athlete, diary) in joined.items():
        if number in WITHOUT_CONSENT_NUMBERS:
            continue
        days_left = LASTS_DAYS.get(number, 60 + 7 * number)
        done_on, at = diary.trainee.joined_on, _entered_at(diary)
        expires_on = None if days_left is None else max(done_on, played.until + timedelta(days=days_left))
        Screening.objects.create(
            gym=owner.gym,
            athlete=athlete,
            done_on=done_on,
            expires_on=expires_on,
            entered_by=owner,
            happened_at=at,
            recorded_at=at,
        )


def _entered_at(diary: Diary) -> datetime:
    return moment_of(local_us(diary.trainee.joined_on, time(17, 5)))
