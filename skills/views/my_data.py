"""Downloading everything that is kept about somebody."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.access.erasures import access_person, access_ward
from athletes.access.rates import too_often
from athletes.access.rules import EVERYBODY, GUARDIAN, OWNER, MemberRequest, allow
from athletes.models import Person
from athletes.queries.erasures import known
from gymtrack.lib.http import kept_nowhere, render_page
from skills.services.archives import take_archive


@require_POST
@allow(*EVERYBODY)
def archive_mine(request: MemberRequest) -> HttpResponseBase:
    """Give somebody everything that is kept about them, as one file."""
    return _archive(request, request.member.person)


@require_POST
@allow(GUARDIAN)
def archive_ward(request: MemberRequest, athlete_id: UUID) -> HttpResponseBase:
    """Give a guardian everything that is kept about a ward."""
    return _archive(request, access_ward(request.member, athlete_id))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def archive_of(request: MemberRequest, person_id: UUID) -> HttpResponseBase:
    """Make an owner the file for anybody who asked them for it."""
    person = access_person(request.member, person_id)
    if request.method == "POST":
        return _archive(request, person)
    return render_page(request, "skills/my_data/archive.html", {"person": person, "known": known(person)})


def _archive(request: MemberRequest, person: Person) -> HttpResponseBase:
    if limited := too_often(request, "archive"):
        return limited
    content = take_archive(by=request.member, person=person)
    gym = request.member.gym
    response = HttpResponse(content, content_type="application/zip")
    day = timezone.localdate(timezone=gym.zone)
    response["Content-Disposition"] = f'attachment; filename="{gym.slug}-archive-{day}.zip"'
    return kept_nowhere(response)
