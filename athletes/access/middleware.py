"""Finds out as whom somebody acts, and refuses to serve a view that states no access rule."""

from __future__ import annotations

from collections.abc import Callable

from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from athletes.access.links import link_in_use
from athletes.access.members import current_member
from athletes.access.rules import AccessRule
from athletes.access.second_factor import lacks_factor, to_set_up

# Views of libraries, which bring rules of their own: allauth's account pages, the API's token check, static files.
_ACCOUNT_PAGES = ("allauth.account.", "allauth.mfa.", "allauth.usersessions.")
_RULED_ELSEWHERE = (*_ACCOUNT_PAGES, "rest_framework.", "drf_spectacular.", "django.contrib.staticfiles.")


class MemberMiddleware:
    """Sets `request.member` (a Membership or None) and the gym's time zone before a view runs.

    `request.link` is the private link by which a browser looks where nobody is signed in, else None.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer a request, with no member yet and the store's time zone until a view is found."""
        request.member = request.link = None  # type: ignore[attr-defined]
        with timezone.override(None):
            return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponseBase], _args: object, _kwargs: object
    ) -> HttpResponseBase | None:
        """Refuse a view without a rule; find the member, or the private link of a browser, for the others.

        A member without the second factor that their gym asks of its staff gets to no page for members.
        """
        if not states_rule(view):
            message = f"{view.__module__}.{getattr(view, '__name__', view)} states no access rule."
            raise ImproperlyConfigured(message)
        if request.user.is_authenticated:
            member = current_member(request)
            request.member = member  # type: ignore[attr-defined]
            if member:
                timezone.activate(member.gym.zone)
            if rests_on_role(view) and lacks_factor(member):
                return to_set_up(request)
        elif link := link_in_use(request):
            request.link = link  # type: ignore[attr-defined]
            timezone.activate(link.gym.zone)
        return None


def states_rule(view: Callable[..., object]) -> bool:
    """Whether a view, a class-based one's class, or the library it comes from has an access rule."""
    owner = getattr(view, "view_class", getattr(view, "cls", view))
    return hasattr(owner, "access_rule") or owner.__module__.startswith(_RULED_ELSEWHERE)


def rests_on_role(view: Callable[..., object]) -> bool:
    """Whether a view is for members by their role. Which role to act in may be chosen without a second factor."""
    rule: AccessRule | None = getattr(view, "access_rule", None)
    return rule is not None and bool(rule.roles) and not getattr(view, "before_second_factor", False)
