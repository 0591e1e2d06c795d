"""The page that says why: asked by date and time on the gym's clock."""

import re
from datetime import timedelta

import pytest

from tests.factories.skills import library, log, reach
from tests.skills.season import STEP, at, on, play


@pytest.fixture
def season(owner, coach, athlete):
    return play(owner, coach, athlete)


@pytest.fixture
def why(client_of, coach, athlete):
    def asked(query="", *, who=None, of=None, code=STEP):
        return client_of(who or coach).get(f"/athletes/{(of or athlete).id}/why/{code}/{query}")

    return asked


def words(response):
    text = " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())
    return text.replace("&#x27;", "'")


def test_the_third_as_it_was_known_then(why, season):
    page = why("?at=2026-11-03T19:00&known=then")
    told = words(page)
    assert "On 3 Nov 2026 19:00, as it was known then passed since 3 Nov 2026 18:30 · cleared: alone" in told
    assert "Known then and known now differ. One attempt was taken back later. See it as it is known now" in told
    assert "What was missing Nothing." in told
    assert 'href="?at=2026-11-03T19%3A00&amp;known=now"' in page.content.decode()
    assert len([line for line in page.context["why"].counted if not line.step]) == 3


def test_the_third_as_it_is_known_now(why, season):
    told = words(why("?at=2026-11-03T19:00&known=now"))
    assert "An attempt that the sign-off rests on was taken back." in told
    assert "cleared: spotted" in told
    assert "taken back on 5 Nov 2026 18:00 by Cleo Adeyemi: Another athlete" in told


def test_without_a_moment_it_is_now(why, season):
    page = why()
    assert page.status_code == 200
    assert page["Cache-Control"] == "no-store"
    assert "as it is known now" in words(page)
    assert "revoked" in words(page)
    assert page.context["why"].criterion.startswith("Criterion 2, in force since 6 Nov 2026")


@pytest.mark.parametrize(
    ("query", "field", "sentence"),
    [
        ("?at=yesterday", "at", "This is no date and time: write it like 2026-11-03T18:30."),
        ("?at=2999-01-01T10:00", "at", "This moment lies ahead"),
        ("?at=0001-01-01T00:00", "at", "This is too long ago"),
        ("?at=" + "9" * 50, "at", "at most 40 characters"),
        ("?known=never", "known", "Choose what is known now or what was known then."),
    ],
)
def test_what_cannot_be_asked_is_said_beside_the_field_and_kept(why, owner, query, field, sentence):
    library(owner.gym, owner)
    page = why(query)
    assert page.status_code == 422
    assert sentence in str(page.context["form"].errors[field])
    assert page.context["form"][field].value() == query.split("=")[1]
    assert "why" not in page.context


def test_an_hour_that_came_twice_says_which_and_leads_to_the_other(why, owner):
    with at(on(1) - timedelta(days=30)):
        library(owner.gym, owner)
    later = why("?at=2026-10-25T02:30&known=then")
    assert "showed this hour twice: this is the later one. Ask about the other one" in words(later)
    assert 'href="?at=2026-10-25T02%3A30&amp;known=then&amp;hour=earlier"' in later.content.decode()
    earlier = why("?at=2026-10-25T02:30&known=then&hour=earlier")
    assert "this is the earlier one." in words(earlier)
    assert "left this hour out" in words(why("?at=2026-03-29T02:30"))


def test_a_state_begins_at_its_microsecond(why, season, athlete):
    told = words(why("?at=2026-11-03T18:29:59.999999&known=then"))
    assert "ready for sign-off since 3 Nov 2026 18:00" in told
    assert "passed since 3 Nov 2026 18:30" in words(why("?at=2026-11-03T18:30:00&known=then"))


def test_a_minor_stands_by_initials(why, owner, coach, minor):
    library(owner.gym, owner)
    log(coach, minor, "pullover-1", 5)
    page = why(of=minor, code="pullover-1")
    assert "M. O." in words(page)
    assert "Okafor" not in page.content.decode()


def test_an_unknown_step_and_another_gyms_athlete_are_not_found(why, owner, other_coach, athlete_member):
    library(owner.gym, owner)
    assert why(code="no-such").status_code == 404
    assert why(who=other_coach).status_code == 404
    assert why(who=athlete_member).status_code == 403


def test_every_coach_of_the_gym_may_ask(why, owner, coach_two):
    library(owner.gym, owner)
    assert why(who=coach_two).status_code == 200


def test_the_athletes_page_leads_there(client_of, owner, coach, athlete):
    library(owner.gym, owner)
    reach(coach, athlete, STEP)
    address = f'href="/athletes/{athlete.id}/why/{STEP}/"'
    assert address in client_of(coach).get(f"/athletes/{athlete.id}/").content.decode()


def test_long_records_are_cut_and_counted(why, owner, coach, athlete):
    library(owner.gym, owner)
    for _ in range(45):
        log(coach, athlete, "pullover-1", 3)
    page = why(code="pullover-1")
    assert len(page.context["why"].not_counted) == 40
    assert "and 5 earlier" in words(page)


def test_queries_do_not_grow_with_the_history(client_of, coach, owner, athlete, django_assert_num_queries):
    library(owner.gym, owner)
    reach(coach, athlete, STEP)
    client, address = client_of(coach), f"/athletes/{athlete.id}/why/{STEP}/"
    for _ in range(3):
        log(coach, athlete, STEP, 5)
        client.get(address)
        with django_assert_num_queries(15):
            client.get(address)
