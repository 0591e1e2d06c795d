"""The certificates of somebody on the staff."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.access.staff import access_staff
from athletes.core.refusal import Refusal
from athletes.forms.certificates import CertificateForm
from athletes.queries.certificates import certificate_history, certificates_at
from athletes.services.certificates import enter_certificate
from athletes.wording import certificate_words
from gymtrack.lib.http import redirect_to, render_page


@allow(OWNER)
def certificates(request: MemberRequest, membership_id: UUID) -> HttpResponseBase:
    """Show how somebody's certificates stand and everything entered before; enter one."""
    person = access_staff(request.member, membership_id)
    form = CertificateForm(request.POST or None)
    if form.is_valid():
        try:
            enter_certificate(by=request.member, membership=person, **form.cleaned_data)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, f"The certificate of {person.person.full_name} is stored.")
            return redirect_to("certificates", person.id)
    today = timezone.localdate()
    context = {
        "form": form,
        "person": person,
        "lines": [certificate_words(line, today) for line in certificates_at(person.id, today)],
        "history": certificate_history(person),
    }
    return render_page(request, "athletes/certificates.html", context, status=form.status)
