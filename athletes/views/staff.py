"""Coaches and owners: the list, rights, the end."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.invitations import staff_invited
from athletes.access.members import held_memberships
from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.access.staff import access_staff, staff_in_sight
from athletes.core.refusal import Refusal
from athletes.forms.people import RightsForm, held_words
from athletes.queries.certificates import certificates_of
from athletes.queries.taught import skills_taught
from athletes.services.staff import change_rights, end_membership
from athletes.wording import certificate_words
from gymtrack.lib.http import redirect_to, render_page


@allow(OWNER)
def staff(request: MemberRequest) -> HttpResponseBase:
    """List the staff with what each may do, and how their certificates stand."""
    members, today = list(staff_in_sight(request.member)), timezone.localdate()
    lines, taught = certificates_of([person.id for person in members], today), skills_taught(request.member.gym)
    people = [
        {
            "membership": person,
            "rights": held_words(person, taught),
            "certificates": [certificate_words(line, today) for line in lines[person.id]],
        }
        for person in members
    ]
    return render_page(
        request,
        "athletes/staff.html",
        {"people": people, "invited": staff_invited(request.member), "now": timezone.now()},
    )


@allow(OWNER)
def staff_rights(request: MemberRequest, membership_id: UUID) -> HttpResponseBase:
    """Change what a coach may do."""
    coach = access_staff(request.member, membership_id)
    # No ticked box is an answer too, so an empty POST is bound as well.
    posted = request.POST if request.method == "POST" else None
    form = RightsForm(posted, initial=RightsForm.stored(coach), skills=skills_taught(request.member.gym))
    if form.is_valid():
        rights, skills = form.cleaned_data["rights"], form.sign_off_skills_given
        try:
            change_rights(by=request.member, coach=coach, rights=rights, sign_off_skills=skills)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"The rights of {coach.person.full_name} are stored.")
            return redirect_to("staff")
    context = {"form": form, "coach": coach}
    return render_page(request, "athletes/staff_rights.html", context, status=form.status)


@allow(OWNER)
def staff_end(request: MemberRequest, membership_id: UUID) -> HttpResponseBase:
    """Ask, then end a coach's or owner's membership."""
    person = access_staff(request.member, membership_id)
    if request.method == "POST":
        try:
            end_membership(by=request.member, membership=person)
        except Refusal as refusal:
            messages.error(request, str(refusal))
        else:
            if held_memberships(request) == [person]:
                logout(request)  # they ended the last one of their own, and their sign-in with it
            messages.success(request, f"{person.person.full_name} does not belong to the staff any more.")
        return redirect_to("staff")
    return render_page(request, "athletes/staff_end.html", {"person": person})
