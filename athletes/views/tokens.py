"""Keys for programs that use the API."""

from __future__ import annotations

from http import HTTPStatus
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.access.staff import access_token, tokens_in_sight
from athletes.core.refusal import Refusal
from athletes.forms.people import KeyForm
from athletes.services.tokens import make_token, revoke_token
from gymtrack.lib.http import redirect_to, render_page

PAGE = "athletes/keys.html"


@allow(OWNER)
def tokens(request: MemberRequest) -> HttpResponseBase:
    """List the keys; make one. The page that answers the POST is the only one that ever shows it."""
    form = KeyForm(request.POST or None)
    context: dict[str, object] = {"form": form, "tokens": tokens_in_sight(request.member)}
    if form.is_valid():
        try:
            made = make_token(by=request.member, name=form.cleaned_data["name"])
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            fresh = {"form": KeyForm(), "made": made}
            return render_page(request, PAGE, {**context, **fresh}, status=HTTPStatus.CREATED)
    return render_page(request, PAGE, context, status=form.status)


@require_POST
@allow(OWNER)
def token_revoke(request: MemberRequest, token_id: UUID) -> HttpResponseBase:
    """Revoke a key."""
    token = access_token(request.member, token_id)
    revoke_token(by=request.member, token=token)
    messages.success(request, f"The key “{token.name}” is revoked.")
    return redirect_to("tokens")
