from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from athletes.core.roster_file import MOST_BYTES
from athletes.forms.roster_file import MENDABLE_BYTES
from athletes.models import Athlete

GOOD = b"name,birth_date\nBo Berg,1999-04-02\nCy Chen,\n"
BAD = b"name,birth_date\nBo Berg,1999-04-02\nCy Chen,soon\n"


def sent(client, content: bytes, **fields):
    return client.post(reverse("roster_import"), {"file": SimpleUploadedFile("roster.csv", content), **fields})


def test_a_good_file_goes_in_and_again_adds_nothing(client_of, coach):
    client = client_of(coach)
    response = sent(client, GOOD)
    assert (response.status_code, response.url) == (303, reverse("roster"))
    sent(client, GOOD)
    told = [str(message) for message in get_messages(sent(client, GOOD).wsgi_request)]
    assert told[-1] == "0 athletes added, 2 already on the roster."
    assert Athlete.objects.count() == 2


def test_a_bad_file_stores_nothing_and_comes_back_to_be_mended(client_of, coach):
    response = sent(client_of(coach), BAD)
    assert response.status_code == 422
    page = response.content.decode()
    assert "1 line has something wrong" in page
    assert "“soon” is no date; write it like 2011-05-30." in page
    assert response.context["form"]["text"].value() == BAD.decode()
    assert not Athlete.objects.exists()


def test_the_mended_text_goes_in(client_of, coach):
    text = BAD.decode().replace("soon", "2001-01-01").replace("\n", "\r\n")
    assert client_of(coach).post(reverse("roster_import"), {"text": text}).status_code == 303
    assert Athlete.objects.count() == 2


def test_bad_lines_are_left_out_and_named(client_of, coach):
    response = sent(client_of(coach), BAD, skip_bad="on")
    assert response.status_code == 200
    assert response.context["done"] == "1 athlete added, 0 already on the roster."
    assert [problem.line for problem in response.context["problems"]] == [3]
    assert Athlete.objects.get().person.full_name == "Bo Berg"


def test_a_bad_header_stops_the_import_even_then(client_of, coach):
    response = sent(client_of(coach), b"name,height\nBo Berg,1\n", skip_bad="on")
    assert response.status_code == 422
    assert response.context["form"]["skip_bad"].value() is True
    assert not Athlete.objects.exists()


def test_neither_file_nor_text_is_told(client_of, coach):
    response = client_of(coach).post(reverse("roster_import"), {"skip_bad": "on"})
    assert response.status_code == 422
    assert response.context["form"].errors["file"] == ["Choose a file, or paste its text."]


def test_an_empty_file_is_told(client_of, coach):
    response = sent(client_of(coach), b"")
    assert response.status_code == 422
    assert "The file is empty." in response.content.decode()


def test_a_file_over_the_limit_is_told(client_of, coach):
    response = sent(client_of(coach), b"x" * (MOST_BYTES + 1))
    assert response.status_code == 422
    assert response.context["form"].errors["file"] == ["The file has more than 10 MB."]


def test_a_long_list_of_problems_is_counted_and_the_text_does_not_come_back(client_of, coach):
    line = "x" * 1000
    content = "name\n" + f"{line}\n" * 300
    assert len(content) > MENDABLE_BYTES
    response = sent(client_of(coach), content.encode())
    assert len(response.context["problems"]) == 200
    assert "And 100 more." in response.content.decode()
    assert response.context["form"]["text"].value() == ""


def test_bytes_that_are_no_text_break_no_page(client_of, coach):
    response = sent(client_of(coach), b"name\n\xff\xfe\x00<script>\n")
    assert response.status_code == 422
    assert "<script>\n" not in response.content.decode()


def test_an_import_goes_into_ones_own_gym(client_of, coach, other_gym):
    sent(client_of(coach), GOOD)
    assert not Athlete.objects.filter(gym=other_gym).exists()
