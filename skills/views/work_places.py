"""The gym's stations: their list, and describing one."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.views.decorators.http import require_http_methods, require_safe

from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from gymtrack.lib.http import redirect_to, render_page
from skills.access import access_work_place, may
from skills.forms.work_places import WorkPlaceForm
from skills.queries import class_plans as queries
from skills.queries.bars import bars_of
from skills.services import work_places as service
from skills.showing.station_list import told_places

if TYPE_CHECKING:
    from skills.models import WorkPlace


@require_safe
@allow(*STAFF)
def work_places(request: MemberRequest) -> HttpResponse:
    """Show the stations in use, and those that were."""
    gym = request.member.gym
    context = {
        "places": told_places(gym, queries.work_places_of(gym)),
        "retired": queries.retired_work_places_of(gym),
        "may_edit": may(request.member, "may_edit_skills"),
    }
    return render_page(request, "skills/work_places/work_places.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def work_place_add(request: MemberRequest) -> HttpResponseBase:
    """Add a station."""
    form = _form(request)
    if form.is_valid():
        try:
            key = form.cleaned_data["id"]
            place = service.add_work_place(by=request.member, entry=form.entry, place_id=key)
        except service.PlaceRefusedError as error:
            form.refuse_all(error.problems)
        else:
            messages.success(request, f"Added: {place.name}.")
            return redirect_to("work_places")
    return render_page(request, "skills/work_places/form.html", {"form": form, "place": None}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def work_place_change(request: MemberRequest, place_id: UUID) -> HttpResponseBase:
    """Change a station in use."""
    place = access_work_place(request.member, place_id)
    if place.retired_at:
        raise Http404
    form = _form(request, place)
    if form.is_valid():
        try:
            service.change_work_place(by=request.member, place=place, entry=form.entry)
        except service.PlaceRefusedError as error:
            form.refuse_all(error.problems)
        except service.PlaceRetiredError as error:
            messages.error(request, str(error))
            return redirect_to("work_places")
        else:
            messages.success(request, f"Changed: {place.name}.")
            return redirect_to("work_places")
    return render_page(request, "skills/work_places/form.html", {"form": form, "place": place}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def work_place_retire(request: MemberRequest, place_id: UUID) -> HttpResponseBase:
    """Ask before a station is taken out of use, and do it."""
    place = access_work_place(request.member, place_id)
    if request.method == "POST":
        service.retire_work_place(by=request.member, place=place)
        messages.success(request, f"Out of use: {place.name}. Plans that were made stay.")
        return redirect_to("work_places")
    return render_page(request, "skills/work_places/retire.html", {"place": place})


def _form(request: MemberRequest, place: WorkPlace | None = None) -> WorkPlaceForm:
    gym = request.member.gym
    bars, steps = bars_of(gym), queries.steps_to_serve(gym)
    return WorkPlaceForm(request.POST or None, bars=bars, steps=steps, place=place)
