"""What last month's classes would have been with one more low bar, more people or two coaches: for the owner."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.access.rules import OWNER, MemberRequest, allow
from gymtrack.lib.http import redirect_to, render_page
from skills.core.month import Month
from skills.core.rotation.what_if import NothingToChangeError
from skills.forms.what_ifs import WhatIfForm
from skills.queries.what_ifs import MOST_CLASSES, USUAL, past_classes
from skills.services.what_ifs import AtWorkError, last_run, start
from skills.showing.what_ifs import told


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def what_if(request: MemberRequest) -> HttpResponseBase:
    """Show the last question with its answer, as far as it has come, or have a new one worked out."""
    form = WhatIfForm(request.POST or None)
    if request.method == "POST":
        form = WhatIfForm(request.POST)
        if form.is_valid() and _started(request, form):
            return redirect_to("what_if")
    return _page(request, form)


def _started(request: MemberRequest, form: WhatIfForm) -> bool:
    gym = request.member.gym
    past = past_classes(gym, _last_month(request))
    if not past.classes:
        form.add_error(None, "No class with people in it was ended in that month.")
    elif not past.stations:
        form.add_error(None, "No station is described yet, so nobody has a place: describe the gym’s stations first.")
    else:
        try:
            start(gym=gym, past=past, change=form.as_change())
        except (AtWorkError, NothingToChangeError) as error:
            form.add_error(None, str(error))
    return not form.errors


def _page(request: MemberRequest, form: WhatIfForm) -> HttpResponse:
    run = last_run(request.member.gym)
    context = {
        "form": form,
        "month": _last_month(request),
        "answer": told(run) if run else None,
        "most_classes": MOST_CLASSES,
        "shape": USUAL,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK
    return render_page(request, "skills/what_ifs/what_if.html", context, status=status, fragment="answer")


def _last_month(request: MemberRequest) -> Month:
    return Month.at(timezone.now(), request.member.gym.time_zone).before
