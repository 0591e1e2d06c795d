"""What athletes, and guardians for minors, agreed to."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from athletes.core.consents import BODY, ConsentLine, agreed, extent_of, lacking, shown_name
from athletes.models import Athlete, Consent


def consents_at(
    athlete_ids: Collection[UUID], moment: datetime, known_at: datetime | None = None
) -> Mapping[UUID, Mapping[str, ConsentLine]]:
    """Return the last word of each kind that was said up to a moment, by athlete and kind; one query.

    As known now, or as known at another moment: from what was recorded until then. Every athlete asked for has a
    mapping; a kind about which nobody said anything is not in it.
    """
    rows = Consent.objects.filter(athlete__in=athlete_ids, happened_at__lte=moment)
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    found: dict[UUID, dict[str, ConsentLine]] = {each: {} for each in athlete_ids}
    for row in rows.select_related("entered_by__person").order_by("happened_at", "recorded_at", "pk"):
        found[row.athlete_id][row.kind] = _line(row)
    return found


def consents_lacking(athlete: Athlete, kinds: Collection[str], now: datetime) -> list[tuple[str, str]]:
    """Return the kinds of these that the athlete may not be asked for now, each with the words that say so.

    None in a gym that does not ask for consents; one query in one that does.
    """
    if not athlete.gym.asks_consent or not kinds:
        return []
    return lacking(kinds, consents_at([athlete.id], now)[athlete.id], athlete.standing(_day(athlete, now)))


def has_consent(athlete: Athlete, kind: str, now: datetime) -> bool:
    """Whether who decides agreed to that for an athlete, or need not be asked; one query at most.

    Nobody need be asked about spotting and inversion in a gym that does not ask; an adult stands by name in reports and
    may have a link until they say no; who decides about their data may have a log-in. About a minor's data a yes is
    needed in every gym.
    """
    if kind in BODY and not athlete.gym.asks_consent:
        return True
    return agreed(kind, consents_at([athlete.id], now)[athlete.id], athlete.standing(_day(athlete, now)))


@dataclass(frozen=True, slots=True)
class InSight:
    """How somebody stands where everybody looks: the name ("" where the number stands alone) and what is not agreed.

    `lacking` has the kinds of consent about the body that are missing, with the words that say so; none in a gym that
    does not ask.
    """

    name: str
    lacking: Mapping[str, str]


def in_sight(athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, InSight]:
    """Return how each of these stands on a board, by athlete; one query.

    The athletes come with person and gym, or a query more is made for each.
    """
    said = consents_at([athlete.id for athlete in athletes], now)
    return {
        athlete.id: InSight(_shown(athlete, said[athlete.id], now), _body_lacking(athlete, said[athlete.id], now))
        for athlete in athletes
    }


def _body_lacking(athlete: Athlete, said: Mapping[str, ConsentLine], now: datetime) -> Mapping[str, str]:
    if not athlete.gym.asks_consent:
        return {}
    return dict(lacking(BODY, said, athlete.standing(_day(athlete, now))))


def shown_names(athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, str]:
    """Return by what name each of these stands in everybody's sight: "" where the number stands alone; one query.

    The athletes come with person and gym, or a query more is made for each.
    """
    said = consents_at([athlete.id for athlete in athletes], now)
    return {athlete.id: _shown(athlete, said[athlete.id], now) for athlete in athletes}


def reported_names(athletes: Collection[Athlete], now: datetime) -> Mapping[UUID, str]:
    """Return by what name each of these stands in what is printed or exported: in full as agreed, else initials.

    One query. The athletes come with person and gym, or a query more is made for each.
    """
    said = consents_at([athlete.id for athlete in athletes], now)
    return {
        athlete.id: athlete.person.full_name
        if agreed("reports", said[athlete.id], athlete.standing(_day(athlete, now)))
        else athlete.person.initials
        for athlete in athletes
    }


@dataclass(frozen=True, slots=True)
class Shown:
    """An athlete in everybody's sight: the number, and the name, "" where the number stands alone."""

    id: UUID
    number: int
    name: str

    @property
    def label(self) -> str:
        """Number and name, or 'Athlete 7'."""
        return f"{self.number} {self.name}" if self.name else f"Athlete {self.number}"


def shown_athletes(athletes: Collection[Athlete], now: datetime) -> list[Shown]:
    """Return these as they stand in everybody's sight, in their order; one query."""
    names = shown_names(athletes, now)
    return [Shown(athlete.id, athlete.number, names[athlete.id]) for athlete in athletes]


def _shown(athlete: Athlete, said: Mapping[str, ConsentLine], now: datetime) -> str:
    person = athlete.person
    if person.erased_at:
        return person.initials
    return shown_name(person.full_name, extent_of(said, athlete.standing(_day(athlete, now))))


def _day(athlete: Athlete, moment: datetime) -> date:
    return moment.astimezone(athlete.gym.zone).date()


def consent_history(athlete: Athlete) -> list[ConsentLine]:
    """Return everything that was ever said about an athlete's consent, what was entered last in front."""
    rows = Consent.objects.filter(gym=athlete.gym_id, athlete=athlete).select_related("entered_by__person")
    return [_line(row) for row in rows.order_by("-recorded_at", "-pk")]


def _line(row: Consent) -> ConsentLine:
    return ConsentLine(
        kind=row.kind,
        words=str(Consent.Kind(row.kind).label),
        given=row.given,
        said_by=row.said_by,
        at=row.happened_at,
        entered_by=row.entered_by.person.full_name,
        extent=row.extent,
    )
