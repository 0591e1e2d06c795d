"""API keys: `Authorization: Bearer KEY`, each acting as one membership of one gym."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from athletes.access.rules import AccessRule
from athletes.models import Account, ApiToken, Membership
from athletes.services.tokens import digest_of

if TYPE_CHECKING:
    # Views load the default authentication, so loading them here would go round in a circle.
    from rest_framework.views import APIView


class TokenAuthentication(BaseAuthentication):
    """Finds the membership of a key; sets `request.member` on the underlying request."""

    def authenticate(self, request: Request) -> tuple[Account, ApiToken] | None:
        """Return account and token, None without a key; raises AuthenticationFailed for a bad one."""
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"bearer":
            return None
        token = self._find(words[1].decode("latin-1") if len(words) == 2 else "")  # noqa: PLR2004 (scheme and key)
        request._request.member = token.membership  # type: ignore[attr-defined]
        timezone.activate(token.membership.gym.zone)
        return token.membership.account, token

    def authenticate_header(self, request: Request) -> str:  # noqa: ARG002 (the library's signature)
        """Name the scheme, so that a call without a key gets 401."""
        return "Bearer"

    @staticmethod
    def _find(key: str) -> ApiToken:
        related = ("membership__gym", "membership__account", "membership__person", "membership__athlete")
        token = (
            ApiToken.objects.select_related(*related).filter(digest=digest_of(key), revoked_at=None).first()
        )
        if token is None or token.membership.ended_at or not token.membership.account.is_active:
            message = "This key is not known, or was revoked."
            raise AuthenticationFailed(message)
        return token


def member_of(request: Request) -> Membership:
    """Return the membership as which the key acts."""
    member: Membership = request._request.member  # type: ignore[attr-defined]
    return member


class DenyUnlessRuled(BasePermission):
    """Denies by default: a view states `access_rule`, or nobody gets in."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether the key's membership passes the view's rule."""
        rule: AccessRule | None = getattr(view, "access_rule", None)
        return rule is not None and rule.admits(getattr(request._request, "member", None))
