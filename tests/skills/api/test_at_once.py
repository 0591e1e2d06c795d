"""Eight tablets send at the same instant, on the engine in use."""

from collections import Counter
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from athletes.models import Athlete, AuditEntry, Gym, Membership
from athletes.services.audit import first_broken_link
from skills.models import Attempt, Opening
from tests.factories.skills import days_before_now
from tests.helpers.api import Api, api_of, attempt_body
from tests.helpers.threads import at_once, database_for_threads

pytestmark = pytest.mark.django_db(transaction=True)
TABLETS = 8


@pytest.fixture
def api(coach: Membership, athlete: Athlete, minor: Athlete, tmp_path: Path) -> Iterator[Api]:
    made = api_of(coach)
    with database_for_threads(tmp_path):
        yield made


def test_one_id_at_the_same_instant_is_one_attempt_and_one_answer(api: Api, athlete: Athlete, gym: Gym) -> None:
    attempt_id, body = uuid4(), attempt_body(athlete, note="quiet lats")
    answers = at_once([partial(api.put, f"attempts/{attempt_id}/", body)] * TABLETS)
    assert Counter(answer.status_code for answer in answers) == {201: 1, 200: TABLETS - 1}
    assert len({answer.content for answer in answers}) == 1
    assert answers[0].json()["id"] == str(attempt_id)
    (stored,) = at_once([partial(_stored, gym, attempt_id)])
    assert stored == (1, 1, None)


def _stored(gym: Gym, attempt_id: UUID) -> tuple[int, int, int | None]:
    rows, acts = Attempt.objects.filter(pk=attempt_id), AuditEntry.objects.filter(about=attempt_id)
    return rows.count(), acts.count(), first_broken_link(gym)


def test_one_id_for_two_athletes_at_the_same_instant_goes_to_one_of_them(
    api: Api, athlete: Athlete, minor: Athlete
) -> None:
    attempt_id, bodies = uuid4(), [attempt_body(person) for person in (athlete, minor)] * (TABLETS // 2)
    answers = at_once([partial(api.put, f"attempts/{attempt_id}/", body) for body in bodies])
    assert Counter(answer.status_code for answer in answers) == {201: 1, 200: TABLETS // 2 - 1, 409: TABLETS // 2}
    assert at_once([Attempt.objects.filter(pk=attempt_id).count]) == [1]


def test_eight_attempts_at_the_same_instant_all_count_and_open_the_next_steps_once(
    api: Api, athlete: Athlete, gym: Gym
) -> None:
    """Four of yesterday's and four of today's: whichever comes last, the criterion is met once."""
    bodies = [attempt_body(athlete, happened_at=days_before_now(day).isoformat()) for day in (0, 1)] * (TABLETS // 2)
    answers = at_once([partial(api.put, f"attempts/{uuid4()}/", body) for body in bodies])
    assert [answer.status_code for answer in answers] == [201] * TABLETS
    opened = [code for answer in answers for code in answer.json()["opened"]]
    assert sorted(opened) == ["pullover-2", "pullover-3", "toes-2"]
    assert at_once([Attempt.objects.count, Opening.objects.count]) == [TABLETS, 3]
    assert at_once([partial(first_broken_link, gym)]) == [None]
