"""What all calls of an enrolled tablet share: its key, the coach who holds it, the form of a POST.

`Authorization: Tablet KEY` and, where the call is about people, `Coach: MEMBERSHIP`. No cookie is looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any, Final, cast
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed, UnsupportedMediaType
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request
from rest_framework.views import APIView

from athletes.access.rules import AccessRule
from athletes.access.tablets import FloorRefusal, NoHandOver, holder_of
from athletes.api.base import GymView
from athletes.models import HandOver, Membership, Tablet
from athletes.queries.tablets import tablet_of_digest
from athletes.services.hand_overs import HandOverTaken
from athletes.services.tablets import note_contact
from athletes.services.tokens import digest_of
from gymtrack.lib.problems import Conflict, Refused


class TabletUnknown(AuthenticationFailed):
    """401: no key of an enrolled tablet came with the call."""

    problem_code = "tablet"
    default_detail = "This tablet is not known here, or was revoked."


class TabletAuthentication(BaseAuthentication):
    """Finds the tablet of a key; nobody is signed in by it. The gym's time zone is in use from then on."""

    def authenticate(self, request: Request) -> tuple[None, Tablet]:
        """Return no account and the tablet; raises TabletUnknown."""
        scheme, _, key = get_authorization_header(request).decode("latin-1").partition(" ")
        tablet = tablet_of_digest(digest_of(key.strip())) if scheme.lower() == "tablet" else None
        if tablet is None:
            raise TabletUnknown
        timezone.activate(tablet.gym.zone)
        return None, tablet

    def authenticate_header(self, request: Request) -> str:  # noqa: ARG002 (the library's signature)
        """Name the scheme, so that a call without a key gets 401."""
        return "Tablet"


# What a tablet's key alone opens: a role that no membership has.
ENROLLED: Final = AccessRule(("tablet",))


class RuledTablet(BasePermission):
    """Lets an enrolled tablet in by a view's `access_rule`: ENROLLED, or that of the coach who must hold it."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether the call passes; raises Refused, with its code, where the coach is what stands against it."""
        if not isinstance(view, FloorView) or not isinstance(request.auth, Tablet):
            return False
        rule: AccessRule | None = getattr(view, "access_rule", None)
        return rule is not None and (rule == ENROLLED or rule.admits(view.member))


class FloorView(GymView):
    """A view that a tablet's key opens. It states its `access_rule`: ENROLLED, or MAY_LOG for what is about people.

    A POST comes as JSON and from a page of this site.
    """

    authentication_classes = (TabletAuthentication,)
    permission_classes = (RuledTablet,)

    @property
    def tablet(self) -> Tablet:
        """The tablet that asks, with its gym."""
        return cast("Tablet", self.request.auth)

    @property
    def member(self) -> Membership:
        """The coach whom the header names, who holds the tablet and may log; raises Refused."""
        return self.holder_of(self.request.headers.get("Coach", ""))[0]

    def holder_of(self, coach_id: UUID | str) -> tuple[Membership, HandOver]:
        """Return that coach, who holds the tablet now and may log, and the hand-over. Asked for once a call.

        Raises Refused with code "hand_over" or "right".
        """
        known: dict[str, tuple[Membership, HandOver]] = self.__dict__.setdefault("_holders", {})
        if str(coach_id) not in known:
            with refusals_as_problems():
                known[str(coach_id)] = holder_of(self.tablet, _as_id(coach_id), timezone.now())
        return known[str(coach_id)]

    def heard(self, sent_at: datetime | None = None) -> None:
        """Note that the tablet was heard of, and what its clock said. A GET does so by itself."""
        note_contact(tablet=self.tablet, received_at=timezone.now(), sent_at=sent_at)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's)
        """Find the tablet and ask the rules, then for the form of a POST."""
        super().initial(request, *args, **kwargs)
        if request.method in SAFE_METHODS:
            self.heard()
        else:
            check_form(request)


COACH: Final = OpenApiParameter(
    "Coach", OpenApiTypes.UUID, OpenApiParameter.HEADER, required=True, description="The coach who holds the tablet."
)


def check_form(request: Request) -> None:
    """Let through what a script of this site sent, and no form of another one. Raises UnsupportedMediaType, Refused."""
    kind = (request.content_type or "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise UnsupportedMediaType(kind)
    own = f"{request.scheme}://{request.get_host()}"
    if request.headers.get("Origin") not in {own, *settings.CSRF_TRUSTED_ORIGINS}:
        raise Refused("origin", "This came from a page of another site.")


def _as_id(text: UUID | str) -> UUID:
    try:
        return text if isinstance(text, UUID) else UUID(text)
    except ValueError:
        raise NoHandOver("Name the coach who holds the tablet.") from None


@contextmanager
def refusals_as_problems() -> Iterator[None]:
    """Turn a refusal into 403 with its code, or into 409."""
    try:
        yield
    except FloorRefusal as refusal:
        raise Refused(refusal.code, str(refusal)) from None
    except HandOverTaken as refusal:
        raise Conflict(str(refusal)) from None
