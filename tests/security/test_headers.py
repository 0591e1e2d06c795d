"""The headers of every answer (OWASP ASVS 5.0, chapter 3.4 and 3.3), and what holds behind HTTPS."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings as site
from django.test import Client
from django.urls import reverse

from athletes.models import Account, Athlete, Membership
from athletes.services.tokens import make_token
from tests.architecture.routes import PAGES, account_patterns
from tests.architecture.test_routes import ACCOUNT_ARGUMENTS, address  # noqa: F401 (a fixture)
from tests.factories.athletes import PASSWORD
from tests.helpers.api import PROBLEM, api_of

pytestmark = pytest.mark.django_db

SignIn = Callable[[Membership | Account], Client]
Answer = Any  # what the test client gives back
ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
REFERRER = {"same-origin", "no-referrer"}
# Files of the floor board's shell, with nobody's data: a tablet keeps them, and asks whether they still hold.
KEPT = {"floor", "floor_app", "floor_screens", "floor_styles", "floor_manifest", "service_worker", "skill_schema"}


def policy_of(answer: Answer) -> dict[str, list[str]]:
    """The content security policy, by directive."""
    parts = [part.split() for part in answer.headers["Content-Security-Policy"].split(";") if part.strip()]
    return {name: values for name, *values in parts}


def what_is_missing(answer: Answer) -> Iterator[str]:
    for name, value in ALWAYS.items():
        if answer.headers.get(name) != value:
            yield name
    if answer.headers.get("Referrer-Policy") not in REFERRER:
        yield "Referrer-Policy"
    if "camera=()" not in answer.headers.get("Permissions-Policy", ""):
        yield "Permissions-Policy"
    policy = policy_of(answer)
    if policy.get("frame-ancestors") != ["'none'"] or policy.get("base-uri") != ["'none'"]:
        yield "frame-ancestors, base-uri"
    loose = {value for values in policy.values() for value in values} - {"'none'", "'self'", "data:"}
    if loose or policy.get("default-src") != ["'none'"] or "data:" in policy["script-src"]:
        yield f"a policy that lets in {loose}"


@pytest.mark.parametrize("who", ["owner", "nobody"])
def test_every_page_has_every_header_and_is_kept_nowhere(
    request: pytest.FixtureRequest,
    address: Callable[[str], str],  # noqa: F811 (the fixture)
    client_of: SignIn,
    who: str,
) -> None:
    client = Client() if who == "nobody" else client_of(request.getfixturevalue(who))
    wrong: dict[str, object] = {}
    for name in PAGES:
        answer = client.get(address(name))
        missing = [*what_is_missing(answer)]
        if name not in KEPT and who != "nobody" and "no-store" not in answer.headers.get("Cache-Control", ""):
            missing.append("no-store")
        wrong |= {name: (answer.status_code, missing)} if missing else {}
    assert wrong == {}


def test_account_pages_files_errors_and_the_api_have_them_too(client: Client, owner: Membership) -> None:
    answers = {name: client.get(reverse(name, args=ACCOUNT_ARGUMENTS.get(name))) for name in account_patterns()}
    answers |= {path: client.get(path) for path in ("/static/css/base.css", "/no/such/page/", "/api/v1/nowhere/")}
    answers["api"] = api_of(owner).get("athletes/")
    answers["refused"] = Client(enforce_csrf_checks=True).post("/account/sign-in/", {})
    wrong: dict[str, object] = {}
    for name, answer in answers.items():
        missing = [*what_is_missing(answer)] if "/static/" not in name else _missing_of_a_file(answer)
        answer.close()
        wrong |= {name: missing} if missing else {}
    assert wrong == {}


def _missing_of_a_file(answer: Answer) -> list[str]:
    """A file needs no policy for what it loads."""
    wanted = {name: value for name, value in ALWAYS.items() if name != "X-Frame-Options"}
    return [name for name, value in wanted.items() if answer.headers.get(name) != value]


@pytest.fixture
def https(settings: Any) -> None:
    """The settings of a site behind HTTPS: what GYMTRACK_HTTPS=yes makes of them (see test_deployment.py)."""
    settings.SECURE_SSL_REDIRECT = settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    settings.SECURE_HSTS_SECONDS = 365 * 24 * 3600
    settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME = "__Host-sessionid", "__Host-csrftoken"
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")


@pytest.mark.usefixtures("https")
def test_over_http_one_is_led_to_https_and_nothing_is_read(coach: Membership) -> None:
    answer = Client().post("/account/sign-in/?next=/today/", {"login": coach.account.email, "password": PASSWORD})
    assert (answer.status_code, answer["Location"]) == (301, "https://testserver/account/sign-in/?next=/today/")
    assert "__Host-sessionid" not in answer.cookies


@pytest.mark.usefixtures("https")
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_program_over_http_is_refused_and_not_led_on(coach: Membership, method: str) -> None:
    """Led on, it would send its key in plain text every time, and nobody would notice (OWASP ASVS 5.0, 4.1.2)."""
    key = make_token(by=coach, name="door").key
    answer = getattr(Client(), method)("/api/v1/sessions/", headers={"Authorization": f"Bearer {key}"})
    assert (answer.status_code, answer["Content-Type"]) == (403, PROBLEM)
    assert "revoke it, and make another one" in answer.json()["detail"]
    encrypted = Client(headers={"X-Forwarded-Proto": "https"})
    assert encrypted.get("/api/v1/sessions/", headers={"Authorization": f"Bearer {key}"}).status_code == 200


@pytest.mark.usefixtures("https")
def test_the_proxy_says_that_it_was_https(coach: Membership) -> None:
    client = Client(headers={"X-Forwarded-Proto": "https"})
    form = {"login": coach.account.email, "password": PASSWORD}
    answer = client.post("/account/sign-in/", form)
    assert (answer.status_code, answer["Location"]) == (302, "/")
    seconds = re.match(r"max-age=(\d+)", answer.headers["Strict-Transport-Security"])
    assert seconds
    assert int(seconds[1]) >= 365 * 24 * 3600
    cookie = answer.cookies["__Host-sessionid"]
    flags = (bool(cookie["secure"]), bool(cookie["httponly"]), cookie["samesite"], cookie["path"], cookie["domain"])
    assert flags == (True, True, "Lax", "/", "")
    page = client.get("/account/password/")
    crumb = page.cookies["__Host-csrftoken"]
    assert (bool(crumb["secure"]), bool(crumb["httponly"]), crumb["samesite"], crumb["path"]) == (
        True,
        True,
        "Lax",
        "/",
    )


@pytest.mark.parametrize("host", ["elsewhere.example", "testserver.elsewhere.example", "testserver@elsewhere.example"])
def test_a_host_that_is_not_ours_gets_nothing(settings: Any, client: Client, host: str) -> None:
    settings.ALLOWED_HOSTS = ["testserver"]
    answer = client.get("/account/sign-in/", headers={"host": host})
    assert answer.status_code == 400
    assert "elsewhere" not in answer.content.decode()


def test_a_host_that_a_proxy_names_beside_is_not_believed(client: Client) -> None:
    answer = client.get("/today/", headers={"X-Forwarded-Host": "elsewhere.example"})
    assert "elsewhere" not in answer["Location"]
    assert site.USE_X_FORWARDED_HOST is False


@pytest.mark.parametrize(
    "path",
    [
        "/static/../manage.py",
        "/static/..%2f..%2fmanage.py",
        "/static/%2e%2e/%2e%2e/manage.py",
        "/static/css/../../settings.py",
        "/static//etc/passwd",
        "/static/..\\..\\settings.py",
        "/static/css/base.css%00.py",
    ],
)
def test_no_path_leads_out_of_the_static_files(client: Client, path: str) -> None:
    answer: Answer = client.get(path)
    assert answer.status_code in {400, 404}
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert b"DJANGO_SETTINGS_MODULE" not in body
    assert b"SECRET_KEY" not in body


@pytest.mark.parametrize("method", ["DELETE", "PUT", "PATCH"])
def test_no_header_and_no_field_turns_a_post_into_another_method(
    client_of: SignIn, owner: Membership, athlete: Athlete, method: str
) -> None:
    client, place = client_of(owner), reverse("athlete", args=[athlete.id])
    plain = client.post(place).status_code
    for headers, form in (
        ({"X-HTTP-Method-Override": method}, {}),
        ({"X-HTTP-Method": method}, {}),
        ({}, {"_method": method}),
    ):
        assert client.post(place, form, headers=headers).status_code == plain
    answer = api_of(owner).send("post", f"attempts/?_method={method}", {"_method": method})
    assert answer.status_code == 405
