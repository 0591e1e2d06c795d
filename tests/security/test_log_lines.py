"""No name, address or secret comes into any log line, whatever goes wrong (OWASP ASVS 5.0, 16.2.5, 16.4.1, 16.5.1)."""

import logging
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client
from django.urls import reverse

from athletes.models import Account, Athlete, Gym, Membership
from athletes.services.invitations import invite_athlete
from athletes.views import roster
from gymtrack.lib.redaction import HIDDEN, RedactingFormatter
from tests.factories.athletes import make_athlete, make_login
from tests.helpers import canary
from tests.helpers.api import Api, api_of
from tests.helpers.html import words_of

pytestmark = pytest.mark.django_db

SignIn = Callable[[Membership | Account], Client]
FIRST, LAST = canary.NAME.lower().split()
LOGGERS = ("", "django", "django.server", "django.request", "django.security", "athletes", "skills", "gymtrack")
JOIN_CODE = "K7QM2XHV9PTR"


@pytest.fixture
def written() -> Iterator[StringIO]:
    """What the site's own formatter makes of all that is logged, from DEBUG on."""
    stream = StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(RedactingFormatter("{asctime} {levelname} {name} {message}", style="{"))
    loggers = [logging.getLogger(name) for name in LOGGERS]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.DEBUG)
        if not logger.propagate or not logger.name or logger is logging.root:
            logger.addHandler(handler)
    yield stream
    for logger, level in zip(loggers, levels, strict=True):
        logger.setLevel(level)
        logger.removeHandler(handler)


@pytest.fixture
def xylia(gym: Gym) -> Athlete:
    return make_athlete(gym, canary.NAME)


@pytest.fixture
def her(xylia: Athlete) -> Membership:
    return make_login(xylia, email=canary.MAIL)


def assert_nobody_in(text: str) -> None:
    assert text, "nothing was logged at all"
    low = text.lower()
    assert [word for word in (FIRST, LAST, canary.MAIL, JOIN_CODE.lower()) if word in low] == []


def test_no_handler_writes_a_line_but_through_the_redacting_formatter() -> None:
    known = [logging.root, *logging.root.manager.loggerDict.values()]
    handlers = {
        handler
        for logger in known
        if isinstance(logger, logging.Logger)
        for handler in logger.handlers
        if not type(handler).__module__.startswith("_pytest") and not isinstance(handler, logging.NullHandler)
    }
    writing = {type(handler).__name__: type(handler.formatter).__name__ for handler in handlers}
    assert writing == {"StreamHandler": "RedactingFormatter"}


def test_the_server_of_the_site_writes_no_lines_of_its_own_about_requests() -> None:
    for name in ("Dockerfile", "docker-compose.yml", "skills/demo/serving.py"):
        text = Path(settings.BASE_DIR, name).read_text("utf-8")
        assert "access-log" not in text
        assert "log_access" not in text


def test_ways_in_that_fail(client: Client, her: Membership, written: StringIO) -> None:
    for _ in range(7):
        client.post("/account/sign-in/", {"login": canary.MAIL, "password": canary.NAME})
    for _ in range(6):
        client.post("/account/password/forgotten/", {"email": canary.MAIL})
    client.post("/account/sign-in/", {"login": canary.NAME, "password": "x", "next": f"//{canary.MAIL}"})
    client.get(f"/join/{JOIN_CODE}/")
    client.get(f"/account/password/new/3-{JOIN_CODE}/")
    client.get(f"/account/address/confirm/{JOIN_CODE}/")
    Api(f"{canary.NAME}").get(f"athletes/?q={FIRST}")
    assert "too many tries" in written.getvalue()
    assert_nobody_in(written.getvalue())


@pytest.mark.parametrize("address", ["/join/{0}/x/", "/link/{0}/x/", "/account/password/new/3-{0}/x/", "/JOIN/{0}"])
def test_an_address_with_a_secret_that_leads_nowhere(client: Client, written: StringIO, address: str) -> None:
    client.get(address.format(JOIN_CODE))
    assert HIDDEN in written.getvalue()
    assert_nobody_in(written.getvalue())


def test_what_is_not_there_and_what_is_refused(
    client_of: SignIn, owner: Membership, reader: Membership, her: Membership, written: StringIO
) -> None:
    for path in (f"/no/such/page/{canary.MAIL}/", f"/athletes/?q={canary.NAME}", f"/skills/{LAST}x/?q={canary.MAIL}"):
        client_of(owner).get(path.replace(f"{LAST}x", "no-such-skill"))
    client_of(reader).get(reverse("athlete_change", args=[her.athlete_id]), {"full_name": canary.NAME})
    client_of(reader).post(reverse("athlete_add"), {"full_name": canary.NAME, "email": canary.MAIL})
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(owner.account)
    strict.post(f"/athletes/add/?q={canary.NAME}", {"full_name": canary.NAME})
    Client(headers={"host": f"{LAST}.example"}).get("/")
    lines = written.getvalue().replace(f"{LAST}.example", "")  # what a stranger calls this host is nobody's name
    assert "Forbidden" in lines
    assert_nobody_in(lines)


def test_mistakes_in_a_roster(client_of: SignIn, owner: Membership, xylia: Athlete, written: StringIO) -> None:
    text = f"name,born,email\n{canary.NAME},yesterday,{canary.MAIL}\n{canary.NAME},2010-02-30,{canary.MAIL}\n"
    answer = client_of(owner).post("/athletes/import/", {"pasted": text, "text": text})
    assert answer.status_code in {200, 422}
    api_of(owner).post("sessions/", {"name": canary.NAME, canary.NAME: canary.MAIL})
    assert_nobody_in(written.getvalue())


def test_an_error_gives_a_page_in_words_and_one_record_without_what_it_was_about(
    client_of: SignIn, owner: Membership, xylia: Athlete, written: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(_request: object, _template: str, context: dict[str, object], **_more: object) -> None:
        athlete = xylia.person.full_name
        raise ValueError(f"{athlete} <{canary.MAIL}> in {context}")

    monkeypatch.setattr(roster, "render_page", breaks)
    client = client_of(owner)
    client.raise_request_exception = False
    written.truncate(0)
    answer = client.get("/athletes/", {"q": canary.NAME})
    assert answer.status_code == 500
    assert "Something went wrong here" in words_of(answer)
    assert "Traceback" not in answer.content.decode()
    assert FIRST not in answer.content.decode().lower()
    errors = [line for line in written.getvalue().splitlines() if " ERROR " in line]
    assert len(errors) == 1
    assert errors[0].endswith("ERROR django.request Internal Server Error: /athletes/")
    assert "builtins.ValueError" in written.getvalue()
    assert mail.outbox == []  # nobody is mailed what a page was sent
    assert_nobody_in(written.getvalue())


def test_an_error_of_the_api_says_nothing_of_what_it_was_about(
    owner: Membership, xylia: Athlete, written: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    from athletes.api.athletes import AthleteList  # noqa: PLC0415 (needs the settings' default classes)

    def breaks(*_args: object) -> None:
        raise ValueError(canary.NAME)

    monkeypatch.setattr(AthleteList, "get", breaks)
    api = api_of(owner)
    client = Client(raise_request_exception=False)
    answer = client.get("/api/v1/athletes/", headers={"Authorization": f"Bearer {api.key}"})
    assert answer.status_code == 500
    assert FIRST not in answer.content.decode().lower()
    assert api.key not in written.getvalue()
    assert_nobody_in(written.getvalue())


def test_nobody_forges_a_line_by_what_an_address_is_called(client: Client, written: StringIO) -> None:
    client.get("/nowhere/%0A2026-01-01T00:00:00.000Z%20INFO%20gymtrack.security%20signed%20in/%1B%5B2J")
    client.get("/nowhere/", headers={"User-Agent": "a\n2026-01-01T00:00:00.000Z INFO forged"})
    lines = written.getvalue().splitlines()
    assert sum(" WARNING django.request Not Found: /nowhere/" in line for line in lines) == 2
    assert [line for line in lines if line.startswith("2026-01-01") or line.endswith("forged")] == []
    assert "\x1b" not in written.getvalue()


def test_an_invitation_in_hand_is_not_written(client_of: SignIn, owner: Membership, xylia: Athlete, written: StringIO):
    made = invite_athlete(by=owner, athlete=xylia, email=canary.MAIL)
    code = made.code
    Client().get(f"/join/{code}/", follow=True)
    Client().get(f"/join/{code}/more/")
    assert code not in written.getvalue()
    assert_nobody_in(written.getvalue())
