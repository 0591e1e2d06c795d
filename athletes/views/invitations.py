"""Invitations, as who makes them sees them: made, renewed, taken back. A code is shown once, to be printed."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST

from athletes.access.invitations import access_invitation
from athletes.access.rates import too_often
from athletes.access.records import access_athlete
from athletes.access.rules import OWNER, STAFF, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.core.tablets import typed_code
from athletes.forms.base import RefusableForm
from athletes.forms.invitations import AthleteInvitationForm, GuardianInvitationForm, StaffInvitationForm
from athletes.models import Athlete, Invitation
from athletes.queries.taught import skills_taught
from athletes.services.invitation_mails import mail_invitation
from athletes.services.invitations import (
    MadeInvitation,
    invite_athlete,
    invite_guardian,
    invite_staff,
    renew_invitation,
    revoke_invitation,
)
from athletes.views.joining import link_of
from gymtrack.lib.http import SeeOther, redirect_to, render_page
from gymtrack.lib.qr import qr_svg

Invite = Callable[[], MadeInvitation]


@allow(OWNER)
def staff_invite(request: MemberRequest) -> HttpResponseBase:
    """Invite a coach or another owner."""
    skills = skills_taught(request.member.gym)
    form = StaffInvitationForm(request.POST or None, skills=skills, initial={"rights": ["may_log"]})
    return _invited(request, form, "athletes/staff_invite.html", lambda: invite_staff(by=request.member, **form.wish))


@allow(*STAFF, right="may_log")
def athlete_login(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Invite an athlete to a log-in of their own."""
    athlete = access_athlete(request.member, athlete_id)
    # Without an address there is nothing in the form but its token, so an empty POST is bound as well.
    posted = request.POST if request.method == "POST" else None
    form = AthleteInvitationForm(posted, initial={"email": athlete.person.email})
    return _invited(
        request,
        form,
        "athletes/athlete_login.html",
        lambda: invite_athlete(by=request.member, athlete=athlete, **form.cleaned_data),
        athlete,
    )


@allow(*STAFF, right="may_log")
def athlete_guardian(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Invite a minor's guardian to see their progress."""
    athlete = access_athlete(request.member, athlete_id)
    form = GuardianInvitationForm(request.POST or None)
    return _invited(
        request,
        form,
        "athletes/athlete_guardian.html",
        lambda: invite_guardian(by=request.member, athlete=athlete, **form.cleaned_data),
        athlete,
    )


@require_POST
@allow(*STAFF, right="may_log")
def invitation_renew(request: MemberRequest, invitation_id: UUID) -> HttpResponseBase:
    """Give an invitation a new code; the page that answers is the only one that ever shows it."""
    invitation = access_invitation(request.member, invitation_id)
    if limited := too_often(request, "invite"):
        return limited
    try:
        made = renew_invitation(by=request.member, invitation=invitation)
    except Refusal as refusal:
        messages.error(request, str(refusal))
        return _back(invitation)
    return _shown(request, made, status=HTTPStatus.OK)


@require_POST
@allow(*STAFF, right="may_log")
def invitation_revoke(request: MemberRequest, invitation_id: UUID) -> HttpResponseBase:
    """Take an invitation back."""
    invitation = access_invitation(request.member, invitation_id)
    revoke_invitation(by=request.member, invitation=invitation)
    messages.success(request, "The invitation does not work any more.")
    return _back(invitation)


def _invited(
    request: MemberRequest, form: RefusableForm, template: str, invite: Invite, athlete: Athlete | None = None
) -> HttpResponseBase:
    """Invite somebody and show the code, else the form. The page that answers is the only one that ever shows it."""
    if form.is_valid():
        if limited := too_often(request, "invite"):
            return limited
        try:
            return _shown(request, invite(), status=HTTPStatus.CREATED)
        except Refusal as refusal:
            form.refuse(refusal)
    return render_page(request, template, {"form": form, "athlete": athlete}, status=form.status)


def _shown(request: MemberRequest, made: MadeInvitation, *, status: HTTPStatus) -> HttpResponseBase:
    invitation, link = made.invitation, link_of(request)
    join_page = request.build_absolute_uri(reverse("join"))
    mailed = mail_invitation(invitation=invitation, code=made.code, join_page=join_page, link_of=link)
    context = {
        "invitation": invitation,
        "code": made.code,
        "mailed": mailed,
        "join_page": join_page,
        # Our own drawing of our own address: nothing in it was typed by anybody.
        "qr": mark_safe(qr_svg(link(typed_code(made.code)), title="The address that opens the invitation")),  # noqa: S308
        "now": timezone.now(),
    }
    return render_page(request, "athletes/invitation_made.html", context, status=status)


def _back(invitation: Invitation) -> SeeOther:
    return redirect_to("athlete_change", invitation.athlete_id) if invitation.athlete_id else redirect_to("staff")
