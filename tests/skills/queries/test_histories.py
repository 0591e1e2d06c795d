"""What is read of the facts: the whole of them, or what a step's rules can take notice of."""

from typing import Any

import pytest

from athletes.models import Athlete, Gym, Membership
from skills.core.successes import least_of
from skills.queries.histories import histories_of, telling_histories_of
from tests.factories.skills import library, log, pass_step


@pytest.mark.parametrize(
    ("code", "tries"),
    [
        ("pullover-1", [{"seconds": seconds} for seconds in (1.9, 2.0, 4.9, 5.0, 12.0)]),
        ("pullover-3", [{"reps": reps, "grade": grade} for reps in (1, 4) for grade in (0, 2)]),
    ],
)
def test_what_is_read_is_what_the_rule_can_take_notice_of(
    gym: Gym, coach: Membership, athlete: Athlete, code: str, tries: list[dict[str, int]]
):
    book = library(gym)
    if code != "pullover-1":
        pass_step(coach, athlete, "pullover-2")
    page = book.steps[code]
    marks: list[dict[str, Any]] = [{}, {"faults": (page.faults[0][0],)}, {"missed": (page.checkpoints[0][0],)}]
    for number, mark in enumerate([*marks, {"assistance": "band"}]):
        for result in tries:
            log(coach, athlete, code, days_ago=number / 10, **result, **mark)
    whole, read = (
        histories(book, [athlete.id], [code])[athlete.id] for histories in (histories_of, telling_histories_of)
    )
    least = least_of(book.rules.steps[code])
    assert least
    assert sorted(each.id for each in read.attempts) == sorted(each.id for each in whole.attempts if least.allows(each))
    assert 0 < len(read.attempts) < len(whole.attempts)
    assert (read.openings, read.sign_offs, read.voids) == (whole.openings, whole.sign_offs, whole.voids)
