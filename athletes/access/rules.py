"""Access rules: every view states one, or it is not served."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Concatenate, ParamSpec, cast

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from django_htmx.middleware import HtmxDetails

from athletes.access.certificates import SIGNING, why_not_signing
from athletes.access.links import holds_a_link, link_gone
from athletes.models import Account, Membership, PrivateLink

P = ParamSpec("P")

OWNER, COACH, ATHLETE, GUARDIAN = "owner", "coach", "athlete", "guardian"
STAFF = (OWNER, COACH)
EVERYBODY = (OWNER, COACH, ATHLETE, GUARDIAN)


class MemberRequest(HttpRequest):
    """A request by somebody who is signed in and acts as one membership of one gym."""

    htmx: HtmxDetails
    user: Account
    member: Membership


class LinkRequest(HttpRequest):
    """A request by who holds a private link in force, which is `link`, or else by `member`."""

    htmx: HtmxDetails
    member: Membership | None
    link: PrivateLink | None


@dataclass(frozen=True, slots=True)
class AccessRule:
    """Who may use a view: roles, and a right where one is needed. No roles means everybody, signed in or not.

    `link` lets in who holds a private link, too.
    """

    roles: tuple[str, ...]
    right: str = ""
    link: bool = False

    def admits(self, member: Membership | None) -> bool:
        """Whether that membership may pass. An owner has every right of the gym."""
        if not self.roles:
            return True
        if member is None or member.role not in self.roles:
            return False
        return not self.right or holds(member, self.right)

    def why_not(self, member: Membership | None) -> str:
        """Return what there is to say to who was not admitted, beyond that the right is missing."""
        lapsed = self.right == SIGNING and member is not None and (member.is_owner or member.may_sign_off)
        return why_not_signing(member, timezone.now()) if lapsed and member else ""


def holds(member: Membership, right: str) -> bool:
    """Whether the member holds that right now: an owner all of them, and nobody to sign off on a lapsed certificate."""
    if right == SIGNING:
        return not why_not_signing(member, timezone.now())
    return member.is_owner or (member.is_staff_member and bool(getattr(member, right)))


View = Callable[Concatenate[MemberRequest, P], HttpResponseBase]
LinkView = Callable[Concatenate[LinkRequest, P], HttpResponseBase]
PlainView = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def allow(*roles: str, right: str = "") -> Callable[[View[P]], PlainView[P]]:
    """Let members with one of these roles (and the right) use the view; PermissionDenied for anybody else."""
    rule = AccessRule(roles, right)

    def decorate(view: View[P]) -> PlainView[P]:
        @wraps(view)
        def ruled(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            member_request = cast("MemberRequest", request)
            if not rule.admits(member_request.member):
                raise PermissionDenied(rule.why_not(member_request.member))
            return view(member_request, *args, **kwargs)

        ruled.access_rule = rule  # type: ignore[attr-defined]
        return ruled

    return decorate


def allow_link(view: LinkView[P]) -> PlainView[P]:
    """Let who holds a private link in force use the view, to look alone, and athletes and guardians.

    Whose link ran out or was taken back learns that; anybody else is asked to sign in.
    """
    rule = AccessRule((ATHLETE, GUARDIAN), link=True)

    @wraps(view)
    def ruled(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        link_request = cast("LinkRequest", request)
        if link_request.link or rule.admits(link_request.member):
            return view(link_request, *args, **kwargs)
        if request.user.is_authenticated:
            raise PermissionDenied
        return link_gone(request) if holds_a_link(request) else redirect_to_login(request.get_full_path())

    opened = login_not_required(ruled)
    opened.access_rule = rule  # type: ignore[attr-defined]
    return opened


def open_to_all(view: PlainView[P]) -> PlainView[P]:
    """Serve the view to everybody, signed in or not."""
    opened = login_not_required(view)
    opened.access_rule = AccessRule(())  # type: ignore[attr-defined]
    return opened


def signed_in(view: PlainView[P]) -> PlainView[P]:
    """Serve the view to everybody who has signed in, a member of a gym or not; the sign-in page for all others."""

    @wraps(view)
    def ruled(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        return view(request, *args, **kwargs)

    ruled.access_rule = AccessRule(())  # type: ignore[attr-defined]
    return ruled
