"""Keys at the door of the API."""

import pytest
from django.test import RequestFactory
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from athletes.access.rules import AccessRule
from athletes.api.tokens import TokenAuthentication, member_of
from athletes.services.staff import end_membership
from athletes.services.tokens import make_token, revoke_token


class Whose(APIView):
    access_rule = AccessRule(("owner",))

    def get(self, request: Request) -> Response:
        return Response({"gym": member_of(request).gym.slug})


class Unruled(APIView):
    def get(self, _request: Request) -> Response:
        return Response({})


def call(view: type[APIView], authorization: str = "") -> Response:
    headers = {"Authorization": authorization} if authorization else {}
    response = view.as_view()(RequestFactory().get("/", headers=headers))
    assert isinstance(response, Response)
    return response


@pytest.fixture
def key(owner) -> str:
    return make_token(by=owner, name="door").key


def test_a_key_acts_as_who_made_it(key):
    response = call(Whose, f"Bearer {key}")
    assert (response.status_code, response.data) == (200, {"gym": "harbour"})


@pytest.mark.django_db
@pytest.mark.parametrize("words", ["", "Bearer", "Bearer x", "Bearer x y", "Bearer é", "Basic eDp5"])
def test_without_a_good_key_the_answer_is_401(words):
    response = call(Whose, words)
    assert response.status_code == 401
    assert response.headers["WWW-Authenticate"] == "Bearer"


def test_a_rule_that_the_member_does_not_pass_gives_403(coach):
    assert call(Whose, f"Bearer {make_token(by=coach, name='x').key}").status_code == 403


def test_a_view_without_a_rule_lets_nobody_in(key):
    assert call(Unruled, f"Bearer {key}").status_code == 403


def authenticate(key: str) -> None:
    request = RequestFactory().get("/", headers={"Authorization": f"Bearer {key}"})
    TokenAuthentication().authenticate(Request(request))


def test_a_revoked_key_opens_nothing(owner):
    made = make_token(by=owner, name="door")
    authenticate(made.key)
    revoke_token(by=owner, token=made.token)
    with pytest.raises(AuthenticationFailed, match="was revoked"):
        authenticate(made.key)


def test_a_key_ends_with_the_membership_and_with_the_account(owner, coach):
    made = make_token(by=coach, name="door")
    end_membership(by=owner, membership=coach)
    with pytest.raises(AuthenticationFailed):
        authenticate(made.key)
    mine = make_token(by=owner, name="window")
    owner.account.is_active = False
    owner.account.save(update_fields=["is_active"])
    with pytest.raises(AuthenticationFailed):
        authenticate(mine.key)
