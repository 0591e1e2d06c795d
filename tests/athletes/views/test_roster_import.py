import re
from datetime import date

import pytest
from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from athletes.core.roster_file import MOST_BYTES, MOST_ROWS
from athletes.forms.roster_file import MENDABLE_BYTES, MOST_DOUBTFUL, RosterFileForm
from athletes.models import Athlete, AuditEntry, BodyMeasure, Person
from gymtrack.lib.packing import packed
from tests.factories.athletes import make_athlete

GOOD = b"name,birth_date\nBo Berg,1999-04-02\nCy Chen,\n"
BAD = b"name,birth_date\nBo Berg,1999-04-02\nCy Chen,soon\n"


def sent(client, content: bytes, **fields):
    return client.post(reverse("roster_import"), {"file": SimpleUploadedFile("roster.csv", content), **fields})


def confirmed(client, shown, **fields):
    """Send what a preview holds back, as its form does."""
    return client.post(reverse("roster_confirm"), {**shown.context["seen"], **fields})


def told(response) -> list[str]:
    return [str(message) for message in get_messages(response.wsgi_request)]


def words_of(response) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_a_file_is_shown_and_nothing_is_stored_before_it_is_confirmed(client_of, coach):
    client = client_of(coach)
    shown = sent(client, GOOD)
    assert shown.status_code == 200
    assert [(row.line, row.entry.full_name) for row in shown.context["added"]] == [(2, "Bo Berg"), (3, "Cy Chen")]
    assert "Add 2 athletes" in words_of(shown)
    assert not Athlete.objects.exists()
    stored = confirmed(client, shown)
    assert (stored.status_code, stored.url) == (303, reverse("roster"))
    assert told(stored) == ["2 athletes added, 0 already on the roster."]
    assert Athlete.objects.count() == 2


def test_the_same_file_again_changes_nothing_and_says_so(client_of, coach):
    client = client_of(coach)
    first = sent(client, GOOD)
    confirmed(client, first)
    again = sent(client, GOOD)
    assert "nothing is new about them: there is nothing to store." in words_of(again)
    assert reverse("roster_confirm") not in again.content.decode()
    late = confirmed(client, first)
    assert (late.status_code, late.context["changed"][:28]) == (422, "The roster has changed since")
    assert (Athlete.objects.count(), AuditEntry.objects.count()) == (2, 1)


def test_problems_are_named_by_line_and_column_and_the_text_can_be_mended(client_of, coach):
    response = sent(client_of(coach), BAD)
    assert response.status_code == 422
    assert "1 line has something wrong" in words_of(response)
    assert "3 birth_date “soon” is no date; write it like 2011-05-30." in words_of(response)
    assert response.context["mend"]["text"].value() == BAD.decode()
    assert not Athlete.objects.exists()


def test_the_mended_text_goes_in(client_of, coach):
    client, text = client_of(coach), BAD.decode().replace("soon", "2001-01-01").replace("\n", "\r\n")
    assert confirmed(client, client.post(reverse("roster_import"), {"text": text})).status_code == 303
    assert Athlete.objects.count() == 2


def test_good_lines_are_taken_without_the_bad_ones(client_of, coach):
    client = client_of(coach)
    shown = sent(client, BAD)
    assert "Add 1 athlete, leave out 1 bad line" in words_of(shown)
    assert told(confirmed(client, shown)) == [
        "1 athlete added, 0 already on the roster. 1 line has something wrong and stayed out."
    ]
    assert Athlete.objects.get().person.full_name == "Bo Berg"


def test_a_bad_header_stops_the_import(client_of, coach):
    client = client_of(coach)
    shown = sent(client, b"name,height\nBo Berg,1\n")
    assert shown.status_code == 422
    assert reverse("roster_confirm") not in shown.content.decode()
    confirmed(client, shown)
    assert not Athlete.objects.exists()


def test_neither_file_nor_text_is_told(client_of, coach):
    response = client_of(coach).post(reverse("roster_import"))
    assert response.status_code == 422
    assert response.context["form"].errors["file"] == ["Choose a file, or paste its text."]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The file is empty."),
        ("name\nAda\n".encode("utf-16"), "The file is UTF-16 text. Save it as CSV in UTF-8."),
        (b"PK\x03\x04 a spreadsheet", "The first line must name the columns, and “name” is not among them."),
        (b"name\n\xff\xfe\x00\n", "There is a NUL byte in the cell, which no text has."),
        (b"name\n\xff\n", "The cell is not UTF-8 text. Save the file as CSV in UTF-8."),
    ],
    ids=["empty", "UTF-16", "another kind", "NUL", "Latin-1"],
)
def test_a_file_that_cannot_be_read_is_told_in_words(client_of, coach, content, sentence):
    response = sent(client_of(coach), content)
    assert response.status_code == 422
    assert sentence in words_of(response)


def test_a_file_over_the_limit_is_told_and_not_kept(client_of, coach):
    response = sent(client_of(coach), b"x" * (MOST_BYTES + 1))
    assert response.status_code == 422
    assert response.context["form"].errors["file"] == ["The file has more than 10 MB."]


def test_a_file_with_too_many_rows_is_told(client_of, coach):
    response = sent(client_of(coach), b"name\n" + b"".join(b"P%d\n" % n for n in range(MOST_ROWS + 1)))
    assert "The file has more than 5,000 rows." in words_of(response)


def test_a_long_list_of_problems_is_counted_and_the_text_does_not_come_back(client_of, coach):
    line = "x" * 1000
    content = "name\n" + f"{line}\n" * 300
    assert len(content) > MENDABLE_BYTES
    response = sent(client_of(coach), content.encode())
    assert len(response.context["problems"]) == 200
    assert "And 100 more." in response.content.decode()
    assert response.context["mend"]["text"].value() == ""


def test_an_import_goes_into_ones_own_gym(client_of, coach, other_coach):
    confirmed(client_of(coach), sent(client_of(coach), GOOD))
    assert not Athlete.objects.filter(gym=other_coach.gym).exists()
    assert len(sent(client_of(other_coach), GOOD).context["added"]) == 2


BORN = date(2011, 5, 30)
LIKE = b"name,birth_date,email\nBerg Zoe,2011-05-30,new@home.example\n"


@pytest.fixture
def zoe(gym):
    return make_athlete(gym, "Zoë Berg", birth_on=BORN)


def test_who_may_be_on_the_roster_is_asked_and_nothing_is_chosen_beforehand(client_of, coach, zoe):
    client = client_of(coach)
    shown = sent(client, LIKE)
    page = words_of(shown)
    assert "Perhaps on the roster already (1)" in page
    assert f"the same name as number {zoe.number}, Zoë Berg, born on 30 May 2011" in page
    assert "take the new details (name, e-mail address)" in page
    assert " checked" not in shown.content.decode()
    undecided = confirmed(client, shown)
    assert undecided.status_code == 422
    assert undecided.context["form"].errors == {"line-2": ["Choose who line 2 is."]}
    assert confirmed(client, undecided, **{"line-2": "take:99"}).status_code == 422
    assert Athlete.objects.count() == 1


@pytest.mark.parametrize(
    ("choice", "expected"),
    [
        ("leave", ("0 athletes added, 0 already on the roster, 1 left as it was.", ["Zoë Berg "])),
        ("take", ("0 athletes added, 0 already on the roster, 1 changed.", ["Berg Zoe new@home.example"])),
        ("add", ("1 athlete added, 0 already on the roster.", ["Zoë Berg ", "Berg Zoe new@home.example"])),
    ],
)
def test_a_coach_says_who_it_is(client_of, coach, zoe, choice, expected):
    client = client_of(coach)
    value = choice if choice == "add" else f"{choice}:{zoe.number}"
    stored = confirmed(client, sent(client, LIKE), **{"line-2": value})
    people = Person.objects.filter(athlete__isnull=False).order_by("athlete__number")
    assert (told(stored), [f"{person.full_name} {person.email}" for person in people]) == ([expected[0]], expected[1])
    again = sent(client, LIKE)
    assert bool(again.context["plan"].doubtful) is (choice == "leave")
    assert again.context["plan"].added == ()


def test_where_the_roster_changed_in_between_it_is_shown_again(client_of, coach, gym, zoe):
    client = client_of(coach)
    shown = sent(client, GOOD)
    make_athlete(gym, "Bó Berg", birth_on=date(1999, 4, 2))
    again = confirmed(client, shown)
    assert again.status_code == 422
    assert "The roster has changed since this was shown. Nothing was stored: look it over once more." in words_of(again)
    assert [each.line.line for each in again.context["plan"].doubtful] == [2]
    assert Athlete.objects.count() == 2
    assert confirmed(client, again, **{"line-2": "add"}).status_code == 303
    assert Athlete.objects.count() == 4


def test_another_file_than_was_shown_is_not_stored(client_of, coach):
    client = client_of(coach)
    shown = sent(client, GOOD)
    other = confirmed(client, shown, packed=packed(b"name\nEve Adams\n"))
    assert (other.status_code, [row.entry.full_name for row in other.context["added"]]) == (422, ["Eve Adams"])
    assert not Athlete.objects.exists()


@pytest.mark.parametrize("broken", ["", "x", "eJw=", packed(b"name\nBo\n")[:-6], packed(b"x" * (MOST_BYTES + 1))])
def test_what_did_not_come_back_whole_is_told(client_of, coach, broken):
    response = confirmed(client_of(coach), sent(client_of(coach), GOOD), packed=broken)
    assert response.status_code == 422
    assert "The file did not come back whole with the form" in words_of(response)
    assert not Athlete.objects.exists()


def test_signs_of_a_page_in_a_file_stay_text(client_of, coach):
    response = sent(client_of(coach), b"name\n<script>alert(1)</script>\n=cmd|x\n")
    assert "<script>alert" not in response.content.decode()


def test_many_doubtful_lines_are_decided_in_parts(client_of, coach, gym):
    names = [f"Person {chr(97 + n // 26) * 4}{chr(97 + n % 26) * 4}" for n in range(MOST_DOUBTFUL + 5)]
    roster = "name,birth_date\n" + "".join(f"{name},2001-01-01\n" for name in names)
    client = client_of(coach)
    confirmed(client, sent(client, roster.encode()))
    assert Athlete.objects.count() == len(names)
    other = roster.replace("2001-01-01", "2002-02-02").encode()
    shown = sent(client, other)
    assert (len(shown.context["form"].fields), shown.context["form"].more) == (MOST_DOUBTFUL, 5)
    lines = [each.line.line for each in shown.context["plan"].doubtful[:MOST_DOUBTFUL]]
    stored = confirmed(client, shown, **{f"line-{line}": "add" for line in lines})
    assert told(stored) == [f"{MOST_DOUBTFUL} athletes added, 0 already on the roster, 5 left as it was."]


def test_ten_megabytes_and_five_thousand_rows_are_shown_and_stored(client_of, coach):
    notes = "".join(f"{n * 7919 % 10007} turns " for n in range(400))
    rows = [f"Person {n:x} Nr{n},1.7{n % 10},{notes[n % 1500 :][:1950]}" for n in range(MOST_ROWS)]
    content = ("name,stature_m,notes\n" + "\n".join(rows)).encode()
    assert MOST_BYTES * 0.9 < len(content) <= MOST_BYTES
    client = client_of(coach)
    shown = sent(client, content)
    assert len(shown.context["plan"].added) == MOST_ROWS
    assert confirmed(client, shown).status_code == 303
    assert (Athlete.objects.count(), BodyMeasure.objects.count()) == (MOST_ROWS, MOST_ROWS)


def test_queries_do_not_grow_with_rows(client_of, coach, django_assert_num_queries):
    client = client_of(coach)
    client.get(reverse("roster"))
    for rows in (1, 3):
        content = "name,stature_m\n" + "".join(f"Person {rows}{n},1.7\n" for n in range(rows))
        with django_assert_num_queries(4):
            sent(client, content.encode())


def test_the_form_takes_the_file_before_the_text():
    file = SimpleUploadedFile("roster.csv", GOOD)
    form = RosterFileForm({"text": "name\nEve\n"}, {"file": file})
    assert form.is_valid()
    assert form.content() == GOOD
