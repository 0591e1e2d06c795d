"""Private links: made and taken back by who may, and exchanged for a page without the token in its address."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from athletes.access.linkable import access_link, access_linked
from athletes.access.links import (
    decline_link,
    in_force,
    leave_link,
    link_gone,
    link_in_use,
    link_offered,
    offer_link,
    use_link,
)
from athletes.access.rates import spent, too_often
from athletes.access.rules import EVERYBODY, MemberRequest, allow, open_to_all
from athletes.core.refusal import Refusal
from athletes.forms.base import RefusableForm
from athletes.queries.consents import has_consent
from athletes.services.private_links import MadeLink, link_of_token, make_link, open_link, revoke_link
from gymtrack.lib.http import redirect_to, render_page
from gymtrack.lib.qr import qr_svg

if TYPE_CHECKING:
    from athletes.models import Athlete

PAGE = "athletes/private_links.html"


@require_http_methods(["GET", "HEAD", "POST"])
@allow(*EVERYBODY)
def private_links(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """List the links to an athlete's own page; make one. The page that answers the POST is the only one to show it."""
    athlete = access_linked(request.member, athlete_id)
    # There is nothing in the form but its token, so an empty POST is bound as well.
    form = RefusableForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        if limited := too_often(request, "invite"):
            return limited
        try:
            return _made(request, make_link(by=request.member, athlete=athlete))
        except Refusal as refusal:
            form.refuse(refusal)
    return render_page(request, PAGE, _listed(request, athlete, form), status=form.status)


@require_POST
@allow(*EVERYBODY)
def private_link_revoke(request: MemberRequest, link_id: UUID) -> HttpResponseBase:
    """Take a link back."""
    link = access_link(request.member, link_id)
    revoke_link(by=request.member, link=link)
    messages.success(request, "The link opens nothing any more.")
    return redirect_to("private_links", link.athlete_id)


@require_safe
@open_to_all
def link_open(request: HttpRequest, token: str) -> HttpResponseBase:
    """Exchange a token for a session that knows the link, and lead to its page without the token in the address.

    The link stays good, so that a HEAD or a browser that fetches ahead spoils nothing. Who is signed in stays so
    until they choose.
    """
    if limited := spent(request, "link_wrong"):
        return limited
    link = link_of_token(token) if request.method == "HEAD" else open_link(token=token)
    if link is None:
        too_often(request, "link_wrong")
        return link_gone(request)
    if request.method == "HEAD":
        pass
    elif request.user.is_authenticated:
        offer_link(request, link)
    elif link_in_use(request) != link:
        use_link(request, link)
    answer = redirect_to("link_choose" if request.user.is_authenticated else "linked")
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@open_to_all
def link_choose(request: HttpRequest) -> HttpResponseBase:
    """Ask who is signed in whether to sign out and look by the link that they opened."""
    link = link_offered(request)
    if link is None:
        decline_link(request)
        return redirect_to("home")
    if request.method != "POST":
        return render_page(request, "athletes/link_choose.html", {"link": link})
    if "stay" in request.POST:
        decline_link(request)
        return redirect_to("home")
    use_link(request, link)
    return redirect_to("linked")


@require_POST
@open_to_all
def link_leave(request: HttpRequest) -> HttpResponseBase:
    """Forget in this browser by which link it looked."""
    if not request.user.is_authenticated:
        leave_link(request)
    return redirect_to("home")


def _listed(request: MemberRequest, athlete: Athlete, form: RefusableForm) -> dict[str, object]:
    now = timezone.now()
    return {
        "athlete": athlete,
        "form": form,
        "links": in_force(athlete, now),
        "consented": has_consent(athlete, "link", now),
        "own": athlete.id == request.member.athlete_id,
    }


def _made(request: MemberRequest, made: MadeLink) -> HttpResponseBase:
    address = request.build_absolute_uri(reverse("link_open", args=[made.token]))
    context = {
        "link": made.link,
        "athlete": made.link.athlete,
        "address": address,
        # Our own drawing of our own address: nothing in it was typed by anybody.
        "qr": mark_safe(qr_svg(address, title="The private link")),  # noqa: S308
        "own": made.link.athlete_id == request.member.athlete_id,
    }
    return render_page(request, "athletes/private_link_made.html", context, status=HTTPStatus.CREATED)
