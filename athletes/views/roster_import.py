"""Importing a roster from a CSV file: first what it would do, then that and nothing else."""

from __future__ import annotations

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.access.rules import STAFF, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.core.roster_file import RosterFile, read_roster
from athletes.core.roster_plan import RosterPlan
from athletes.forms.roster_file import MOST_PACKED, PreviewForm, RosterFileForm, seen_content, seen_fields
from athletes.services.roster_import import RosterChanged, enrol_previewed, preview_roster
from athletes.wording import bad_lines, enrolled, import_words
from gymtrack.lib.http import redirect_to, render_page
from gymtrack.lib.packing import packed

PAGE, PREVIEW = "athletes/roster_import.html", "athletes/roster_preview.html"
MOST_SHOWN = 200
BROKEN = "The file did not come back whole with the form, so nothing was stored. Choose it again."
CHANGED = "The roster has changed since this was shown. Nothing was stored: look it over once more."


@allow(*STAFF, right="may_log")
def roster_import(request: MemberRequest) -> HttpResponseBase:
    """Take a file or its text, and show what it would do; nothing is stored."""
    posted = request.method == "POST"
    form = RosterFileForm(*((request.POST, request.FILES) if posted else ()))
    if not form.is_valid():
        return render_page(request, PAGE, {"form": form}, status=form.status)
    content = form.content()
    if len(packed(content)) > MOST_PACKED:
        form.add_error("file", "The file is too large to be shown before it is stored. Part it in two.")
        return render_page(request, PAGE, {"form": form}, status=form.status)
    file = read_roster(content, today=timezone.localdate())
    return _preview(request, content, file, preview_roster(gym=request.member.gym, lines=file.lines))


@require_POST
@allow(*STAFF, right="may_log")
def roster_confirm(request: MemberRequest) -> HttpResponseBase:
    """Store what was shown, or show it again where it would be something else by now."""
    content = seen_content(request.POST)
    if content is None:
        context = {"form": RosterFileForm.to_mend(b""), "broken": BROKEN}
        return render_page(request, PAGE, context, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    file = read_roster(content, today=timezone.localdate())
    plan = preview_roster(gym=request.member.gym, lines=file.lines)
    if plan.digest != request.POST.get("seen"):
        return _preview(request, content, file, plan, changed=CHANGED)
    form = PreviewForm(plan, request.POST)
    if form.is_valid():
        try:
            report = enrol_previewed(by=request.member, lines=file.lines, choices=form.choices(), seen=plan.digest)
        except RosterChanged as refusal:
            fresh = preview_roster(gym=request.member.gym, lines=file.lines)
            return _preview(request, content, file, fresh, changed=str(refusal))
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            left = f" {bad_lines(file.bad_lines)} and stayed out." if file.bad_lines else ""
            messages.success(request, enrolled(report) + left)
            return redirect_to("roster")
    return _preview(request, content, file, plan, form=form)


def _preview(
    request: MemberRequest,
    content: bytes,
    file: RosterFile,
    plan: RosterPlan,
    *,
    changed: str = "",
    form: PreviewForm | None = None,
) -> HttpResponseBase:
    shown = form or PreviewForm(plan)
    context = {
        "plan": plan,
        "changed": changed,
        "form": shown,
        "seen": seen_fields(content, plan),
        "send": import_words(plan, file.bad_lines),
        "mend": RosterFileForm.to_mend(content),
        "added": plan.added[:MOST_SHOWN],
        "added_more": max(0, len(plan.added) - MOST_SHOWN),
        "known": plan.known[:MOST_SHOWN],
        "known_more": max(0, len(plan.known) - MOST_SHOWN),
        "file_is_bad": bool(file.file_problems),
        "bad_lines": bad_lines(file.bad_lines),
        "problems": file.problems[:MOST_SHOWN],
        "problems_more": max(0, len(file.problems) - MOST_SHOWN),
    }
    wrong = changed or shown.errors or file.problems
    status = HTTPStatus.UNPROCESSABLE_ENTITY if wrong else HTTPStatus.OK
    return render_page(request, PREVIEW, context, status=status)
