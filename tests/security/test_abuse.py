"""What somebody sends who means ill: fields that no form has, formulas, bombs, other people's addresses."""

import csv
import json
import re
import zlib
from base64 import b64encode
from collections.abc import Callable
from datetime import UTC, datetime
from io import BytesIO, StringIO
from typing import Any
from uuid import UUID
from zipfile import ZipFile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from athletes.models import Account, Athlete, Gym, Membership, Person
from skills.models import Skill
from tests.architecture.routes import PAGES
from tests.architecture.test_routes import address  # noqa: F401 (a fixture)
from tests.factories.athletes import PASSWORD, make_athlete
from tests.factories.skills import library, log, start_class, step_of
from tests.helpers.api import api_of
from tests.helpers.html import elements, words_of
from tests.security.cast import undone, writes_told

pytestmark = pytest.mark.django_db

SignIn = Callable[[Membership | Account], Client]
Address = Callable[[str], str]
CANARY = "canary-that-no-form-has"
# Columns of the tables behind the forms that no form may set, and what a request could be told besides.
_COLUMNS = """
    gym gym_id account account_id person_id membership_id is_staff is_superuser is_active password_hash by version
    entered_by decided_by made_by recorded_at digest seal started_at ended_at erased_at revoked_at said_by
"""
NO_FIELDS = dict.fromkeys(_COLUMNS.split(), CANARY)
FORMULAS = ("=HYPERLINK(1)", "+1", "-1", "@SUM(1)", "\t=1", "＝1")


# ---- Fields that no form has ------------------------------------------------------------------------------------
def forms_of(page: str) -> list[tuple[str, dict[str, str]]]:
    """The POST forms of a page: where each is sent, and what it sends as it stands."""
    found = []
    for form in elements(page, "form"):
        if form.attrs.get("method", "").lower() == "post":
            fields = [field for tag in ("input", "textarea") for field in _within(page, form.attrs, tag)]
            found.append((form.attrs.get("action", ""), {f.attrs["name"]: _value(f) for f in fields if _is_sent(f)}))
    return found


def _within(page: str, attrs: dict[str, str], tag: str) -> list[Any]:
    return [found for found in elements(page, tag) if any(p.tag == "form" and p.attrs == attrs for p in found.parents)]


def _is_sent(field: Any) -> bool:
    kind = field.attrs.get("type", "text")
    ticked = kind not in {"checkbox", "radio"} or "checked" in field.attrs
    return "name" in field.attrs and ticked and kind not in {"submit", "button", "file"}


def _value(field: Any) -> str:
    return str(field.text.removeprefix("\n") if field.tag == "textarea" else field.attrs.get("value", "on"))


def test_fields_that_a_form_does_not_have_change_nothing_that_is_stored(
    address: Address,  # noqa: F811 (the fixture)
    client_of: SignIn,
    owner: Membership,
) -> None:
    """Every form of every page that an owner opens, sent as it stands, and with more fields: the same is written."""
    client, sent, differing = client_of(owner), 0, []
    for name, page in PAGES.items():
        if page.method != "get" or "owner" not in page.may:
            continue
        place = address(name)
        answer = client.get(place)
        if answer.streaming or "html" not in answer.headers.get("Content-Type", ""):
            continue
        for action, fields in forms_of(answer.content.decode()):
            target = action or place
            if "/account/" in target:
                continue  # the library's own forms, which name their fields one by one
            with undone(), writes_told() as plain:
                client.post(target, fields)
            with undone(), writes_told() as more:
                client.post(target, {**NO_FIELDS, **fields})
            sent += 1
            if [sql for sql, _ in plain] != [sql for sql, _ in more] or CANARY in str(more):
                differing.append((name, target))
    assert differing == []
    assert sent >= 15, sent


def test_the_api_refuses_a_field_that_it_does_not_know(gym: Gym, owner: Membership) -> None:
    library(gym, owner)
    answer = api_of(owner).post("sessions/", {"name": "Tuesday", "gym": str(gym.id), "started_by": str(owner.id)})
    assert answer.status_code == 422
    assert {error["place"] for error in answer.json()["errors"]} == {"gym", "started_by"}


# ---- Formulas ---------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("formula", FORMULAS)
def test_no_csv_file_of_the_site_holds_a_cell_that_a_spreadsheet_runs(
    client_of: SignIn, owner: Membership, gym: Gym, formula: str
) -> None:
    library(gym, owner)
    Person.objects.filter(pk=owner.person_id).update(full_name=f"{formula} Owner")
    Skill.objects.filter(gym=gym).update(name=f"{formula} skill")
    athlete = make_athlete(gym, f"{formula} Athlete")
    log(owner, athlete, "pullover-1", 5.0, session=start_class(owner, athlete, name=f"{formula} class"))
    client, month = client_of(owner), f"{datetime.now(tz=UTC):%Y-%m}"
    csv_pages = [name for name in PAGES if name.endswith("_csv")]
    assert csv_pages
    for name in csv_pages:
        place = reverse(name, args=[month] if name == "month_csv" else [])
        _holds_no_formula(_body(client.get(place)).decode("utf-8-sig"))


def test_no_table_in_an_archive_does_either(client_of: SignIn, owner: Membership, gym: Gym) -> None:
    library(gym, owner)
    athlete = make_athlete(gym, '=HYPERLINK("http://elsewhere.example")')
    log(owner, athlete, "pullover-1", 5.0, session=start_class(owner, athlete, name="@SUM(1)"))
    answer = client_of(owner).post(reverse("archive_of", args=[athlete.person_id]))
    with ZipFile(BytesIO(_body(answer))) as archive:
        tables = [name for name in archive.namelist() if name.endswith(".csv")]
        assert tables
        for name in tables:
            _holds_no_formula(archive.read(name).decode("utf-8-sig"))


def _body(answer: Any) -> bytes:
    assert answer.status_code == 200, answer
    return b"".join(answer.streaming_content) if answer.streaming else bytes(answer.content)


def _holds_no_formula(text: str) -> None:
    cells = [cell for row in csv.reader(StringIO(text, newline="")) for cell in row]
    assert cells
    risky = [cell for cell in cells if re.match(r'[ "]*[=+\-@＝＋－＠\t\r]', cell)]
    assert [cell for cell in risky if not re.fullmatch(r"-?\d+(\.\d+)?", cell)] == []


# ---- Bombs ------------------------------------------------------------------------------------------------------
def test_a_file_that_is_too_large_is_refused_in_words_and_read_no_further(client_of: SignIn, owner: Membership) -> None:
    file = SimpleUploadedFile("roster.csv", b"name\n" + b"a" * 11_000_000, "text/csv")
    answer = client_of(owner).post("/athletes/import/", {"file": file})
    assert answer.status_code == 422
    assert "The file has more than 10 MB" in words_of(answer)
    assert not Athlete.objects.exists()


def test_what_unpacks_to_more_than_a_file_may_have_is_not_unpacked(client_of: SignIn, owner: Membership) -> None:
    """A thousand to one, as deflate gets of one byte a hundred million times over."""
    bomb = b64encode(zlib.compress(b"a" * 100_000_000, 9)).decode()
    names = [field.attrs["name"] for field in elements(_preview(client_of(owner)), "input", type="hidden")]
    answer = client_of(owner).post("/athletes/import/confirm/", dict.fromkeys(names, bomb))
    assert answer.status_code == 422
    assert "nothing was stored" in words_of(answer)


def _preview(client: Client) -> str:
    shown = client.post("/athletes/import/", {"file": SimpleUploadedFile("r.csv", b"name,born\nAda,1990-01-01\n")})
    return str(shown.content.decode())


def test_more_fields_than_any_form_has_are_not_read(client_of: SignIn, owner: Membership) -> None:
    client = client_of(owner)
    client.raise_request_exception = False
    answer = client.post("/athletes/add/", {f"f{number}": "1" for number in range(4_100)})
    assert answer.status_code == 400


@pytest.mark.parametrize("body", [b"[" * 60_000, b'{"a":' * 12_000, b'"' + b"a" * 70_000 + b'"', b"9" * 60_000])
def test_a_body_that_is_deep_or_long_breaks_nothing(owner: Membership, body: bytes) -> None:
    answer = api_of(owner).post("sessions/", body)
    assert answer.status_code in {400, 413, 422}
    assert json.loads(answer.content)["detail"]


# ---- Ways out ---------------------------------------------------------------------------------------------------
ELSEWHERE = (
    "https://elsewhere.example/",
    "//elsewhere.example",
    "/\\elsewhere.example",
    "javascript:alert(1)",
    "\t//e.example",
)


@pytest.mark.parametrize("place", ELSEWHERE)
def test_no_next_leads_elsewhere(client_of: SignIn, owner: Membership, athlete: Athlete, gym: Gym, place: str) -> None:
    """Every address that takes one: signing in, showing that it is still oneself, deciding a sign-off."""
    library(gym, owner)
    form = {"login": owner.account.email, "password": PASSWORD, "next": place}
    answers = [Client().post("/account/sign-in/", form), Client().post(f"/account/sign-in/?next={place}", form)]
    client = client_of(owner)
    answers.append(client.post("/account/confirm/", {"password": PASSWORD, "next": place}))
    answers.append(client.post("/account/sign-out/", {"next": place}))
    client = client_of(owner)
    gate = reverse("sign_off", args=[athlete.id, step_of(gym, "pullover-1").id, "entrance"])
    page = client.get(gate, {"next": place}, headers={"Referer": place if place.startswith("http") else "http://x/"})
    assert not [a for a in elements(page.content.decode(), "a") if "elsewhere" in a.attrs.get("href", "")]
    hidden = [f.attrs.get("value", "") for f in elements(page.content.decode(), "input", name="next")]
    assert place not in hidden
    answers.append(client.post(gate, {"next": place, "decision": "passed", "clearance": "alone", "reason": "x"}))
    answers.append(client.post(reverse("choose_membership"), {"membership": owner.id, "next": place}))
    led = [answer["Location"] for answer in answers if answer.status_code in {301, 302, 303}]
    assert led
    assert [where for where in led if not where.startswith("/") or where.startswith(("//", "/\\"))] == []


def test_ids_say_nothing_of_how_many_there_are(owner: Membership, athlete: Athlete) -> None:
    """No id can be counted up to the next one: 74 bits of each are random (RFC 9562, 5.7)."""
    assert isinstance(athlete.id, UUID)
    assert len({make_athlete(owner.gym, f"Nova {n}").id.int & (2**62 - 1) for n in range(50)}) == 50
