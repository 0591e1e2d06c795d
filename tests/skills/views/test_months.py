"""The owner's month as a page and as a file."""

import csv
import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from io import StringIO

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import AuditHead
from skills.core.month import Figures, Month
from skills.models import Skill
from skills.queries.months import days_of_month, first_fact_at, month_csv, month_report
from skills.templatetags.month_figures import clean_rate, hold_time
from tests.factories.athletes import Role, make_member
from tests.factories.months import Cast, deal
from tests.factories.skills import library
from tests.helpers.html import elements, text_of, what_breaks_the_policy, words_of

OCTOBER = Month(2026, 10)
HERE = {"month": "/month/", "month_of": "/month/2026-10/", "month_csv": "/month/2026-10.csv"}


@pytest.fixture(autouse=True)
def _november():
    with time_machine.travel(datetime(2026, 11, 2, 12, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def reader(gym):
    return make_member(gym, Role.COACH, "Rosa Lund", rights=("may_read_reports",))


@pytest.fixture
def filled(owner, coach, coach_two, minor, athlete_member):
    """October and September, with something in each."""
    library(owner.gym, owner)
    athletes = [athlete_member.athlete, minor]
    cast = Cast(owner.gym, athletes, [coach, coach_two], [coach, coach_two, athlete_member])
    for month, attempts in ((OCTOBER.before, 30), (OCTOBER, 60)):
        deal(cast, seed=3, within=month.bounds("Europe/Berlin"), attempts=attempts, codes=("pullover-1", "l-hold-1"))
    return cast


def test_addresses_are_those_that_were_agreed():
    assert reverse("month") == HERE["month"]
    assert reverse("month_of", args=[OCTOBER]) == HERE["month_of"]
    assert reverse("month_csv", args=[OCTOBER]) == HERE["month_csv"]


@pytest.mark.parametrize("address", HERE.values())
def test_owner_and_coach_with_the_right_may_read(client_of, owner, reader, address):
    assert [client_of(who).get(address).status_code for who in (owner, reader)] == [200, 200]


@pytest.mark.parametrize("address", HERE.values())
def test_everybody_else_in_the_gym_is_refused(client_of, coach, athlete_member, guardian, address):
    answers = [client_of(who).get(address).status_code for who in (coach, athlete_member, guardian)]
    assert answers == [403, 403, 403]


@pytest.mark.parametrize("address", HERE.values())
def test_who_belongs_to_no_gym_is_refused(client_of, stranger, address):
    assert client_of(stranger).get(address).status_code == 403


@pytest.mark.parametrize("address", HERE.values())
def test_who_is_not_signed_in_is_sent_to_the_door(client, address):
    assert client.get(address).status_code == 302


@pytest.mark.parametrize("address", HERE.values())
def test_month_is_only_read(client_of, owner, address):
    assert client_of(owner).post(address).status_code == 405


def test_reader_finds_the_month_in_the_header_and_another_coach_does_not(client_of, reader, coach):
    def links(who):
        return [link.attrs["href"] for link in elements(text_of(client_of(who).get("/today/")), "a")]

    assert "/month/" in links(reader)
    assert "/month/" not in links(coach)


def table(html: str, caption: str) -> list[list[str]]:
    """The cells of the table with that caption, row by row."""
    found = next(part for part in html.split("<table")[1:] if caption in words(part.split("</caption>")[0]))
    rows = re.findall(r"<tr>.*?</tr>", found.split("</table>")[0], re.DOTALL)
    return [[words(cell) for cell in re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL)] for row in rows]


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_page_shows_the_gym_beside_the_month_before(client_of, filled, owner):
    now, then = (month_report(filled.gym, month).gym.figures for month in (OCTOBER, OCTOBER.before))
    rows = table(text_of(client_of(owner).get(HERE["month_of"])), "The gym")
    assert rows[0] == ["", "October 2026", "September 2026"]
    assert [row[0] for row in rows[1:]] == [
        "Active athletes",
        "Training sessions",
        "Attempts",
        "Clean rate",
        "Total hold time",
        "Steps opened",
        "Signed off",
        "Not yet",
        "Revoked",
    ]
    assert [row[1:] for row in rows[1:]] == [list(pair) for pair in zip(told(now), told(then), strict=True)]


def told(figures: Figures) -> list[str]:
    counts = figures.counts
    return [
        str(figures.active_athletes),
        str(figures.sessions),
        str(counts.attempts),
        clean_rate(figures.clean_rate),
        hold_time(counts.hold_tenths),
        str(counts.steps_opened),
        str(counts.signed_off),
        str(counts.not_yet),
        str(counts.revoked),
    ]


@pytest.mark.parametrize("scope", ["skill", "coach"])
def test_page_shows_each_skill_and_each_coach(client_of, filled, owner, scope):
    report = month_report(filled.gym, OCTOBER)
    lines = report.skills if scope == "skill" else report.coaches
    head, *rows = table(text_of(client_of(owner).get(HERE["month_of"])), f"By {scope}")
    assert head[:4] == [scope.title(), "Active athletes", "Sessions", "Attempts"]
    # The page has the clean rate and the hold time in the same order as the table of the gym.
    assert rows == [[line.name, *told(line.figures)] for line in lines]
    assert len(rows) == {"skill": 2, "coach": 3}[scope]


def test_chart_has_its_days_as_a_table(client_of, filled, owner):
    html = text_of(client_of(owner).get(HERE["month_of"]))
    days = days_of_month(filled.gym, OCTOBER)
    rows = re.findall(r"<tr>.*?</tr>", html.split("The same as a table")[1].split("</table>")[0])
    assert len(elements(html, "rect", class_="bar")) == len(elements(html, "rect", class_="bar-other")) == len(days)
    assert [words(row) for row in rows[1:]] == [
        f"{day.day:%a} {day.day.day} {day.day:%b} {day.active_athletes} {day.attempts} {day.clean_attempts}"
        f" {hold_time(day.hold_tenths)}"
        for day in days
    ]


def test_this_month_says_that_it_is_not_over_and_leads_to_no_later_one(client_of, filled, owner):
    answer = client_of(owner).get(HERE["month"])
    links = [link.attrs["href"] for link in elements(text_of(answer), "a") if "rel" in link.attrs]
    assert words_of(answer).startswith("November 2026 so far")
    assert links == ["/month/2026-10/"]
    assert table(text_of(answer), "The gym")[4] == ["Clean rate", "no attempts", clean_rate(rate_of(filled.gym))]


def rate_of(gym):
    return month_report(gym, OCTOBER).gym.figures.clean_rate


def test_month_leads_to_the_ones_beside_it_and_to_its_file(client_of, filled, owner):
    links = elements(text_of(client_of(owner).get(HERE["month_of"])), "a")
    beside = {link.attrs["rel"]: link.attrs["href"] for link in links if "rel" in link.attrs}
    assert beside == {"prev": "/month/2026-09/", "next": "/month/2026-11/"}
    assert [link.attrs["href"] for link in links if "download" in link.attrs] == ["/month/2026-10.csv"]


def test_month_turns_at_the_gym_s_midnight(client_of, owner):
    midnight = datetime(2026, 10, 31, 23, tzinfo=UTC)  # in Berlin, an hour ahead
    for moment, name in ((midnight - timedelta(microseconds=1), "October"), (midnight, "November")):
        with time_machine.travel(moment, tick=False):
            assert words_of(client_of(owner).get(HERE["month"])).startswith(f"{name} 2026 so far")


def test_month_before_the_first_fact_says_so_and_leads_there(client_of, filled, owner):
    answer = client_of(owner).get("/month/2026-05/")
    links = [link.attrs["href"] for link in elements(text_of(answer), "a") if link.attrs["href"].startswith("/month/2")]
    assert "Nothing had been written down yet in May 2026: the gym’s books begin in" in words_of(answer)
    assert links == ["/month/2026-06/", f"/month/{first_month(filled.gym)}/"]
    assert elements(text_of(answer), "table") == []


def test_first_month_has_figures_and_leads_to_none_before_it(client_of, filled, owner):
    html = text_of(client_of(owner).get(f"/month/{first_month(filled.gym)}/"))
    assert table(html, "The gym")[3][0] == "Attempts"
    assert [link.attrs["rel"] for link in elements(html, "a") if "rel" in link.attrs] == ["next"]


def first_month(gym):
    first_at = first_fact_at(gym)
    assert first_at is not None
    return Month.at(first_at, gym.time_zone)


def test_gym_without_any_fact_says_what_to_do(client_of, owner):
    answer = client_of(owner).get(HERE["month"])
    assert "Nothing is written down yet. Start a session" in words_of(answer)
    assert elements(text_of(answer), "table") == []


SENTENCES = {
    "2026-13": "“2026-13” is no month: write it like 2026-11.",
    "october": "“october” is no month: write it like 2026-11.",
    "2026-12": "2026-12 has not begun yet: this month is 2026-11.",
}


@pytest.mark.parametrize("ending", ["/", ".csv"])
@pytest.mark.parametrize(("name", "sentence"), SENTENCES.items())
def test_bad_month_is_not_found_with_a_sentence(client_of, owner, name, sentence, ending):
    answer = client_of(owner).get(f"/month/{name}{ending}")
    assert (answer.status_code, answer["Content-Type"]) == (404, "text/html; charset=utf-8")
    assert sentence in words_of(answer)


def test_file_is_the_month_s_under_a_name_that_tells_gym_and_month(client_of, filled, owner):
    answer = client_of(owner).get(HERE["month_csv"])
    assert answer.content == month_csv(filled.gym, OCTOBER)
    assert answer["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert answer["Content-Disposition"] == 'attachment; filename="harbour-2026-10.csv"'
    assert answer["Cache-Control"] == "no-store"


def test_file_says_what_the_page_says(client_of, filled, owner):
    content = client_of(owner).get(HERE["month_csv"]).content.decode("utf-8-sig")
    rows = list(csv.DictReader(StringIO(content, newline="")))
    page = {row[0]: row[1] for row in table(text_of(client_of(owner).get(HERE["month_of"])), "The gym")[1:]}
    assert [row["scope"] for row in rows] == ["gym", "skill", "skill", *["coach"] * 3, "audit_chain"]
    head = AuditHead.objects.get(gym=filled.gym)
    assert rows[-1]["name"] == f"{head.length} {head.seal}"
    assert head.length > 0
    assert (rows[0]["attempts"], rows[0]["signed_off"]) == (page["Attempts"], page["Signed off"])
    assert Decimal(rows[0]["clean_rate_percent"]) == Decimal(page["Clean rate"].removesuffix(" %"))


@pytest.mark.parametrize("address", [HERE["month_of"], HERE["month_csv"]])
def test_nobody_who_practises_is_named(client_of, filled, owner, address):
    text = client_of(owner).get(address).content.decode()
    names = [name for athlete in filled.athletes for name in (athlete.person.full_name, athlete.person.initials)]
    assert [name for name in names if name in text] == []
    assert "Cleo Adeyemi" in text


def test_name_of_a_skill_cannot_run_in_a_spreadsheet(client_of, filled, owner):
    Skill.objects.filter(gym=filled.gym, name="L-hold").update(name="=cmd|' /C calc'!A0")
    assert b"\r\n2026-10,skill,'=cmd|' /C calc'!A0," in client_of(owner).get(HERE["month_csv"]).content


def test_another_gym_s_month_is_empty(client_of, filled, other_gym):
    otis = make_member(other_gym, Role.OWNER, "Odile Moreau")
    content = client_of(otis).get(HERE["month_csv"]).content.decode("utf-8-sig")
    assert content.splitlines()[1:] == [
        "2026-10,gym,Uptown Loft,0,0,0,0.0,0,,0,0,0,0",
        "2026-10,audit_chain,0,,,,,,,,,,",
    ]
    assert "Nothing is written down yet" in words_of(client_of(otis).get(HERE["month_of"]))


# Three for the person (session, account, memberships), one where the books begin, seven for the month, five for the
# one before and one for the days; the file needs the seven,
# and the head of the audit chain.
@pytest.mark.parametrize(("address", "queries"), [(HERE["month_of"], 19), (HERE["month_csv"], 11)])
def test_number_of_queries_does_not_grow_with_the_attempts(client_of, filled, owner, address, queries):
    client = client_of(owner)
    assert queries_of(client, address) == queries
    deal(filled, seed=9, within=OCTOBER.bounds("Europe/Berlin"), attempts=200)
    assert queries_of(client, address) == queries


def queries_of(client, address: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return len(asked)


def test_tables_have_captions_scopes_and_boxes_that_the_keyboard_can_scroll(client_of, filled, owner):
    html = text_of(client_of(owner).get(HERE["month_of"]))
    own = [element for element in elements(html, "table") if "details" not in [box.tag for box in element.parents]]
    assert len(own) == len(elements(html, "caption")) == 3
    assert {head.attrs.get("scope") for head in elements(html, "th")} == {"col", "row"}
    boxes = [box for box in elements(html, "div", role="region") if "month-lines" in box.attrs["class"]]
    assert [(box.attrs["tabindex"], box.attrs["aria-labelledby"]) for box in boxes] == [
        ("0", "by-skill"),
        ("0", "by-coach"),
    ]


@pytest.mark.parametrize("address", [HERE["month_of"], "/month/2026-13/"])
def test_page_keeps_the_content_policy(client_of, filled, owner, address):
    assert list(what_breaks_the_policy(text_of(client_of(owner).get(address)))) == []


@pytest.mark.parametrize(
    ("tenths", "words"),
    [
        (0, "0 s"),
        (199, "19.9 s"),
        (599, "59.9 s"),
        (600, "1 min 0 s"),
        (35_999, "59 min 59 s"),
        (36_000, "1 h 0 min"),
        (36_000_599, "1,000 h 0 min"),
    ],
)
def test_time_held_is_cut_never_rounded_up(tenths, words):
    assert hold_time(tenths) == words


@pytest.mark.parametrize(
    ("rate", "words"), [(None, "no attempts"), (Fraction(1), "100 %"), (Fraction(2, 3), "66.7 %"), (Fraction(0), "0 %")]
)
def test_clean_rate_in_words(rate, words):
    assert clean_rate(rate) == words
