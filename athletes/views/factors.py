"""The second factor of somebody else, which an owner may take away when it is lost."""

from __future__ import annotations

from uuid import UUID

from allauth.account.decorators import reauthentication_required
from django.contrib import messages
from django.http import HttpResponseBase

from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.access.second_factor import has_second_factor
from athletes.access.staff import access_staff
from athletes.core.refusal import Refusal
from athletes.models import Membership
from athletes.services.second_factors import reset_second_factor
from gymtrack.lib.http import redirect_to, render_page


@allow(OWNER)
def factor_reset(request: MemberRequest, membership_id: UUID) -> HttpResponseBase:
    """Ask, then take a coach's or another owner's second factor away; the own password is asked for again first."""
    person = access_staff(request.member, membership_id)
    answer: HttpResponseBase = _confirmed(request, person)
    return answer


@reauthentication_required(app="allauth.mfa")  # type: ignore[untyped-decorator]
def _confirmed(request: MemberRequest, person: Membership) -> HttpResponseBase:
    if request.method == "POST":
        try:
            reset_second_factor(by=request.member, membership=person)
        except Refusal as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"The second factor of {person.person.full_name} is taken away.")
        return redirect_to("staff")
    context = {"person": person, "has_factor": has_second_factor(person.account_id)}
    return render_page(request, "athletes/factor_reset.html", context)
