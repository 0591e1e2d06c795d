"""API keys: `Authorization: Bearer KEY`, each acting as one membership of one gym."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from athletes.access.rules import AccessRule
from athletes.models import Account, ApiToken, Membership
from athletes.queries.tokens import token_of_digest
from athletes.services.tokens import digest_of

if TYPE_CHECKING:
    # Views load the default authentication, so loading them here would go round in a circle.
    from rest_framework.views import APIView


class TokenAuthentication(BaseAuthentication):
    """Finds the membership of a key, as which everything is done; the gym's time zone is in use from then on."""

    def authenticate(self, request: Request) -> tuple[Account, ApiToken] | None:
        """Return account and token, None without a key; raises AuthenticationFailed for a bad one."""
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"bearer":
            return None
        token = self._find(words[1].decode("latin-1") if len(words) == 2 else "")  # noqa: PLR2004 (scheme and key)
        timezone.activate(token.membership.gym.zone)
        return token.membership.account, token

    def authenticate_header(self, request: Request) -> str:  # noqa: ARG002 (the library's signature)
        """Name the scheme, so that a call without a key gets 401."""
        return "Bearer"

    @staticmethod
    def _find(key: str) -> ApiToken:
        token = token_of_digest(digest_of(key))
        if token is None:
            message = "This key is not known, or was revoked."
            raise AuthenticationFailed(message)
        return token


def member_of(request: Request) -> Membership:
    """Return the membership as which the key acts; LookupError for a call without a key."""
    member = _keyed_member(request)
    if member is None:
        message = "The view is open to calls without a key, and so nobody acts in it."
        raise LookupError(message)
    return member


def _keyed_member(request: Request) -> Membership | None:
    """Return the key's membership. A signed-in browser is nobody here: its cookie is sent by any page's form."""
    return request.auth.membership if isinstance(request.auth, ApiToken) else None


class DenyUnlessRuled(BasePermission):
    """Denies by default: a view states `access_rule`, or nobody gets in.

    `access_rules` states other rules for single methods, where reading and writing differ.
    """

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether the key's membership passes the view's rule for the method."""
        rules: Mapping[str, AccessRule] = getattr(view, "access_rules", {})
        rule: AccessRule | None = rules.get(request.method or "", getattr(view, "access_rule", None))
        return rule is not None and rule.admits(_keyed_member(request))
