"""Secrets are looked up by their digest, and compared in a time that tells nothing (OWASP ASVS 5.0, 11.2.4)."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.test import Client

from athletes.models import Account, ApiToken, Athlete, Invitation, Membership, PrivateLink, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.invitations import invite_athlete
from athletes.services.private_links import make_link
from athletes.services.tablets import add_tablet, enrol_tablet
from athletes.services.tokens import make_token
from tests.factories.athletes import PASSWORD, make_consent
from tests.gymtrack.test_second_factor import with_app

SECRETS = re.compile(r"token|digest|secret|seal|password|signature|hashed|api_?key", re.IGNORECASE)
# Compared with == and no secret: of what was shown before it was stored, of words that everybody reads, of an act
# that a tablet sends again, of passwords that are known to everybody, of a file that lies on the same disk.
NO_SECRETS = {
    "athletes/services/roster_import.py": {"read.plan.digest != seen"},
    "athletes/views/roster_import.py": {"plan.digest != request.POST.get('seen')"},
    "skills/services/safety.py": {"digest != notes.digest"},
    "skills/services/floor/taking.py": {"(row.gym_id, row.digest) != (tablet.gym_id, act.digest)"},
    "athletes/access/passwords.py": {"digest == wanted", "lines.readline()[:_DIGEST_SIGNS].upper() == wanted"},
    "athletes/services/anchors.py": {"found.get(anchor.length) != anchor.seal"},
}


def compared(source: str) -> Iterator[str]:
    """The comparisons by == or != of something that is called like a secret."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare) and any(isinstance(sign, (ast.Eq, ast.NotEq)) for sign in node.ops):
            named = [part for part in ast.walk(node) if isinstance(part, (ast.Name, ast.Attribute))]
            if any(SECRETS.search(part.id if isinstance(part, ast.Name) else part.attr) for part in named):
                yield ast.unparse(node)


def test_no_secret_is_compared_sign_by_sign() -> None:
    found = {}
    for folder in ("athletes", "skills", "gymtrack"):
        for file in Path(settings.BASE_DIR, folder).rglob("*.py"):
            place = str(file.relative_to(settings.BASE_DIR))
            if rest := {*compared(file.read_text("utf-8"))} - NO_SECRETS.get(place, set()):
                found[place] = rest
    assert found == {}


@pytest.mark.parametrize(
    "source", ["row.digest == sent", "if token != kept: pass", "a = [x for x in y if x.seal == z]"]
)
def test_such_a_comparison_would_be_found(source: str) -> None:
    assert [*compared(source)]


def test_no_secret_is_kept_as_it_was_told(owner: Membership, coach: Membership, minor: Athlete) -> None:
    """What opens something is kept as a digest; the account's password and a coach's code as a slow hash."""
    make_consent(minor, by=owner, kind="link")
    make_consent(minor, by=owner, kind="login")
    told: dict[str, Any] = {
        make_token(by=owner, name="door").key: ApiToken.objects.all(),
        make_link(by=coach, athlete=minor).token: PrivateLink.objects.all(),
        invite_athlete(by=coach, athlete=minor, email="").code: Invitation.objects.all(),
    }
    added = add_tablet(by=owner, name="wall")
    told |= {added.code: Tablet.objects.all(), enrol_tablet(code=added.code).key: Tablet.objects.all()}
    set_code(by=coach, code="402917")
    told |= {"402917": Membership.objects.all(), PASSWORD: Account.objects.all()}
    for secret, rows in told.items():
        assert rows, secret
        plain = secret.replace("-", "")
        kept = [str(value).replace("-", "") for row in rows.values() for value in row.values()]
        assert not [value for value in kept if plain in value]


def test_a_sign_in_begins_a_session_under_another_key(client: Client, coach: Membership) -> None:
    """Who planted a session in a browser does not hold the one that is signed in (ASVS 7.2.4)."""
    client.get("/join/ABCD-EFGH-JKMN/")  # a session before anybody is known
    planted = client.session.session_key
    assert planted
    client.post("/account/sign-in/", {"login": coach.account.email, "password": PASSWORD})
    assert client.session.session_key not in {None, planted}
    thief = Client()
    thief.cookies["sessionid"] = str(planted)
    assert thief.get("/today/").status_code == 302


def test_a_private_link_begins_a_session_under_another_key(owner: Membership, minor: Athlete, client: Client) -> None:
    make_consent(minor, by=owner, kind="link")
    make_consent(minor, by=owner, kind="login")
    client.get("/join/ABCD-EFGH-JKMN/")
    planted = client.session.session_key
    client.get(f"/link/{make_link(by=owner, athlete=minor).token}/")
    assert client.session.session_key not in {None, planted}
    thief = Client()
    thief.cookies["sessionid"] = str(planted)
    assert thief.get("/linked/").status_code in {302, 404}


def test_after_a_sign_out_the_old_session_opens_nothing(client: Client, coach: Membership) -> None:
    client.post("/account/sign-in/", {"login": coach.account.email, "password": PASSWORD})
    key = client.session.session_key
    client.post("/account/sign-out/")
    thief = Client()
    thief.cookies["sessionid"] = str(key)
    assert thief.get("/today/").status_code == 302


@pytest.mark.django_db(transaction=True)
def test_a_password_chosen_anew_by_mail_is_no_way_past_the_second_factor(owner: Membership) -> None:
    with_app(owner)
    client = Client()
    client.post("/account/password/forgotten/", {"email": owner.account.email})
    link = re.search(r"http://testserver(/account/password/new/\S+)", str(mail.outbox[-1].body))
    assert link
    page = client.get(link[1], follow=True).redirect_chain[-1][0]
    new = "thumbs around the bar"
    client.post(page, {"password1": new, "password2": new})
    assert client.get("/today/").status_code == 302
    answer = client.post("/account/sign-in/", {"login": owner.account.email, "password": new})
    assert answer["Location"] == "/account/safety/code/"
    assert client.get("/today/").status_code == 302
