"""Who may open which page about people: every address with every role, and across gyms."""

import pytest
from django.urls import reverse

from athletes.services.tablets import add_tablet
from athletes.services.tokens import make_token
from tests.factories.athletes import Role, make_member

STAFF_PAGES = ("staff", "staff_invite", "staff_rights", "staff_end", "certificates")
OWNERS = ("gym", *STAFF_PAGES, "tokens", "token_revoke", "tablets", "tablet_add", "tablet_revoke")
OF_ATHLETE = ("athlete_change", "athlete_login", "athlete_guardian", "login_end", "guardian_end")
CHANGES_OF_ROSTER = ("athlete_add", "roster_import", *OF_ATHLETE)
STAFFS = ("my_code", "roster", *CHANGES_OF_ROSTER)
ANYBODYS = ("choose_membership",)
POST_ONLY = ("token_revoke", "choose_membership", "login_end", "guardian_end")


@pytest.fixture
def address(owner, coach, minor, guardian):
    """The address of a named page of `gym`."""
    ids = {
        "staff_rights": [coach.id],
        "staff_end": [coach.id],
        "certificates": [coach.id],
        "token_revoke": [make_token(by=owner, name="door").token.id],
        "tablet_revoke": [add_tablet(by=owner, name="wall").tablet.id],
        **{name: [minor.id] for name in OF_ATHLETE},
        "guardian_end": [minor.id, guardian.wards.get().id],
    }
    return lambda name: reverse(name, args=ids.get(name, []))


def asked(client, name: str, address: str) -> int:
    return (client.post if name in POST_ONLY else client.get)(address).status_code


@pytest.mark.parametrize("name", [*OWNERS, *STAFFS, *ANYBODYS])
def test_who_is_not_signed_in_is_led_to_sign_in(client, address, name):
    response = (client.post if name in POST_ONLY else client.get)(address(name))
    assert response.status_code == 302
    assert response.url.startswith(reverse("account_login"))


@pytest.mark.parametrize("who", ["athlete_member", "guardian"])
@pytest.mark.parametrize("name", [*OWNERS, *STAFFS])
def test_athletes_and_guardians_get_403(request, client_of, address, name, who):
    assert asked(client_of(request.getfixturevalue(who)), name, address(name)) == 403


@pytest.mark.parametrize("name", [*OWNERS, *STAFFS, *ANYBODYS])
def test_a_stranger_gets_403(client_of, stranger, address, name):
    assert asked(client_of(stranger), name, address(name)) == 403


@pytest.mark.parametrize("name", OWNERS)
def test_a_coach_gets_403_where_only_owners_may_go(client_of, coach, address, name):
    assert asked(client_of(coach), name, address(name)) == 403


@pytest.mark.parametrize("name", CHANGES_OF_ROSTER)
def test_a_coach_without_any_right_changes_nothing(client_of, reader, address, name):
    assert asked(client_of(reader), name, address(name)) == 403


def test_a_coach_without_any_right_reads_and_is_shown_no_way_to_change(client_of, reader, coach, minor):
    for name, args in (("roster", []), ("athlete", [minor.id])):
        address = reverse(name, args=args)
        pages = {who: client_of(who).get(address) for who in (reader, coach)}
        assert pages[reader].status_code == 200
        ways = [reverse("athlete_change", args=[minor.id])]
        ways += [reverse("athlete_add"), reverse("roster_import")] if name == "roster" else []
        assert {way: [f'href="{way}"' in page.content.decode() for page in pages.values()] for way in ways} == {
            way: [False, True] for way in ways
        }


@pytest.mark.parametrize("name", STAFFS)
def test_a_coach_may_see_to_the_roster(client_of, coach, address, name):
    assert asked(client_of(coach), name, address(name)) == (303 if name in POST_ONLY else 200)


@pytest.mark.parametrize("name", [*OWNERS, *STAFFS])
def test_an_owner_may_go_everywhere(client_of, owner, address, name):
    leads_on = {"factor_reset": 302}  # the password is asked for again first
    assert asked(client_of(owner), name, address(name)) == (303 if name in POST_ONLY else leads_on.get(name, 200))


@pytest.mark.parametrize("name", OF_ATHLETE)
def test_another_gyms_coach_gets_404(client_of, other_coach, address, name):
    assert asked(client_of(other_coach), name, address(name)) == 404


@pytest.mark.parametrize("name", ["staff_rights", "staff_end", "token_revoke", "tablet_revoke"])
def test_another_gyms_owner_gets_404(client_of, other_gym, address, name):
    assert asked(client_of(make_member(other_gym, Role.OWNER, "Odile Grau")), name, address(name)) == 404


def test_a_page_about_people_is_kept_in_no_cache(client_of, owner, address):
    for name in ("gym", "staff", "tokens", "roster", "athlete_change"):
        assert client_of(owner).get(address(name)).headers["Cache-Control"] == "no-store"


def test_a_page_that_does_not_exist_keeps_the_way_back(client_of, owner):
    response = client_of(owner).get("/nowhere/at-all/")
    assert response.status_code == 404
    assert owner.gym.name in response.content.decode()
    assert reverse("roster") in response.content.decode()
