"""Who decides: the one who is signed in, and nobody in the name of another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from django.http import Http404
from django.urls import reverse

from athletes.access.members import held_memberships
from athletes.access.rules import MemberRequest
from athletes.queries.tablets import staff_member
from skills.views.panels import uuid_or_404

if TYPE_CHECKING:
    from athletes.models import Membership


@dataclass(frozen=True, slots=True)
class Signer:
    """Who is signed in, as the membership that decides, and the name of who should be where that is somebody else."""

    member: Membership
    awaited: str = ""


def who_signs(request: MemberRequest) -> Signer:
    """Return who decides, where the address or the form names one by `signer`: a tablet has a holder of its own.

    Of several memberships of one person the named one decides. Raises Http404 for who is no staff of the gym.
    """
    named = request.POST.get("signer") or request.GET.get("signer") or str(request.member.id)
    for mine in held_memberships(request):
        if str(mine.id) == named and mine.gym_id == request.member.gym_id and mine.is_staff_member:
            return Signer(mine)
    other = staff_member(request.member.gym, uuid_or_404(named))
    if other is None:
        raise Http404
    return Signer(request.member, other.person.full_name)


def signer_context(request: MemberRequest, signer: Signer) -> dict[str, object]:
    """Return what the page says about who decides, and the way there and back for who has to sign in first."""
    return {
        "signer": signer,
        "by_tablet": "signer" in request.GET,
        "unrecorded": request.POST.get("reason", ""),
        "way_in": f"{reverse('account_login')}?{urlencode({'next': request.get_full_path()})}",
    }
