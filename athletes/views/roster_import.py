"""Importing a roster from a CSV file."""

from __future__ import annotations

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone

from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.roster_file import RosterFile, read_roster
from athletes.forms.roster_file import RosterFileForm
from athletes.services.roster import enrol_all
from athletes.wording import bad_lines, enrolled
from gymtrack.lib.http import redirect_to, render_page

PAGE = "athletes/roster_import.html"
MOST_PROBLEMS = 200


@allow(*STAFF, right="may_log")
def roster_import(request: MemberRequest) -> HttpResponseBase:
    """Take a file or its text; store all of it, its good lines if so asked, or nothing and say why."""
    posted = request.method == "POST"
    form = RosterFileForm(*((request.POST, request.FILES) if posted else ()))
    if not form.is_valid():
        return render_page(request, PAGE, {"form": form}, status=form.status)
    content, skip_bad = form.content(), form.cleaned_data["skip_bad"]
    file = read_roster(content, today=timezone.localdate())
    done = ""
    if not file.problems or (skip_bad and not file.file_problems):
        done = enrolled(enrol_all(by=request.member, entries=file.entries))
        if not file.problems:
            messages.success(request, done)
            return redirect_to("roster")
    context = {"form": RosterFileForm.to_mend(content, skip_bad=skip_bad), "done": done, **_problems(file)}
    return render_page(request, PAGE, context, status=HTTPStatus.OK if done else HTTPStatus.UNPROCESSABLE_ENTITY)


def _problems(file: RosterFile) -> dict[str, object]:
    return {
        "bad_lines": bad_lines(file.bad_lines),
        "problems": file.problems[:MOST_PROBLEMS],
        "more": max(0, len(file.problems) - MOST_PROBLEMS),
    }
