"""Consents from the table."""

from datetime import UTC, datetime, timedelta

from pytest_django.fixtures import DjangoAssertNumQueries

from athletes.models import Athlete, Gym, Membership
from athletes.queries.consents import consents_at, has_consent, shown_names
from tests.factories.athletes import make_consent

SAID = datetime(2026, 5, 1, 18, tzinfo=UTC)
TICK = timedelta(microseconds=1)


def _given(athlete: Athlete, moment: datetime, known_at: datetime | None = None) -> dict[str, bool]:
    return {kind: line.given for kind, line in consents_at([athlete.id], moment, known_at)[athlete.id].items()}


def test_the_last_word_up_to_the_moment_holds(coach: Membership, athlete: Athlete) -> None:
    make_consent(athlete, by=coach, at=SAID)
    make_consent(athlete, by=coach, at=SAID + timedelta(hours=1), given=False)
    make_consent(athlete, by=coach, kind="spotting", at=SAID)
    moments = (SAID - TICK, SAID, SAID + timedelta(hours=1) - TICK, SAID + timedelta(hours=1))
    assert [_given(athlete, moment) for moment in moments] == [
        {},
        {"inversion": True, "spotting": True},
        {"inversion": True, "spotting": True},
        {"inversion": False, "spotting": True},
    ]


def test_a_word_entered_late_counts_from_when_it_was_said(coach: Membership, athlete: Athlete) -> None:
    entered_at = SAID + timedelta(days=2)
    make_consent(athlete, by=coach, at=SAID, recorded_at=entered_at)
    make_consent(athlete, by=coach, at=SAID - TICK, recorded_at=entered_at + TICK, given=False)
    assert _given(athlete, SAID) == {"inversion": True}
    assert _given(athlete, SAID, known_at=entered_at - TICK) == {}


def test_a_line_says_who_said_it_and_who_entered_it(coach: Membership, minor: Athlete) -> None:
    make_consent(minor, by=coach, at=SAID)
    line = consents_at([minor.id], SAID)[minor.id]["inversion"]
    assert (line.words, line.said_by, line.at, line.entered_by) == (
        "going upside down",
        "guardian",
        SAID,
        "Cleo Adeyemi",
    )


def test_many_are_told_in_one_query(
    coach: Membership, athlete: Athlete, minor: Athlete, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    make_consent(minor, by=coach, at=SAID)
    for ids in ([minor.id], [minor.id, athlete.id]):
        with django_assert_num_queries(1):
            found = consents_at(ids, SAID)
        assert [len(found[each]) for each in ids] == [1, 0][: len(ids)]


def test_each_stands_as_agreed_in_one_query(
    coach: Membership, athlete: Athlete, minor: Athlete, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    athletes = list(Athlete.objects.filter(pk__in=[athlete.pk, minor.pk]).select_related("person", "gym"))
    assert shown_names(athletes, SAID) == {athlete.id: athlete.person.full_name, minor.id: minor.person.initials}
    make_consent(minor, by=coach, kind="board", extent="full_name", at=SAID)
    make_consent(athlete, by=coach, kind="board", extent="number", at=SAID)
    with django_assert_num_queries(1):
        shown = shown_names(athletes, SAID)
    assert shown == {athlete.id: "", minor.id: minor.person.full_name}
    make_consent(minor, by=coach, kind="board", given=False, at=SAID + TICK)
    assert shown_names(athletes, SAID + TICK)[minor.id] == minor.person.initials


def test_a_link_needs_a_yes_for_a_minor_in_every_gym_and_the_body_only_where_it_is_asked(
    coach: Membership, athlete: Athlete, minor: Athlete
) -> None:
    kinds = ("spotting", "inversion", "reports", "link")
    assert [has_consent(minor, kind, SAID) for kind in kinds] == [True, True, False, False]
    assert [has_consent(athlete, kind, SAID) for kind in kinds] == [True, True, True, True]
    Gym.objects.filter(pk=coach.gym_id).update(asks_consent=True)
    minor.gym.refresh_from_db()
    assert [has_consent(minor, kind, SAID) for kind in kinds] == [False, False, False, False]
    for kind in kinds:
        make_consent(minor, by=coach, kind=kind, at=SAID)
    assert [has_consent(minor, kind, SAID) for kind in kinds] == [True, True, True, True]
    assert not has_consent(minor, "link", SAID - TICK)
