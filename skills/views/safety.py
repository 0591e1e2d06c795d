"""Safety: risk notes to read, what happened, and whether the equipment is fit for use."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from http import HTTPStatus
from typing import Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from athletes.access.records import access_athlete
from athletes.access.rules import COACH, OWNER, STAFF, MemberRequest, allow
from athletes.core.refusal import Refusal
from athletes.queries.consents import reported_names
from gymtrack.lib.csv_export import CONTENT_TYPE, csv_file
from gymtrack.lib.http import kept_nowhere, redirect_to, render_page
from skills.access import access_incident, access_session, access_step, may
from skills.core.equipment import LOOKED_AT
from skills.forms.safety import EquipmentForm, IncidentForm, IncidentNoteForm, PeriodForm
from skills.models import EquipmentCheck, Incident
from skills.queries import safety as queries
from skills.queries.books import book_of
from skills.queries.floor import practising_of
from skills.services import safety as service

_OFFERED: Final = ("athlete", "session", "step")
_YES: Final = {True: "yes", False: "no"}


@require_POST
@allow(*STAFF)
def risk_read(request: MemberRequest, step_id: UUID) -> HttpResponseBase:
    """Record that a coach has read the risk notes of a step, as they stood on the page."""
    step = access_step(request.member, step_id)
    try:
        service.read_risk_notes(by=request.member, step=step, digest=request.POST.get("digest", ""))
        messages.success(request, f"Read: the risk notes of {step}.")
    except Refusal as refusal:
        messages.info(request, str(refusal))
    return redirect_to("today")


# ---- Incidents --------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def incidents(request: MemberRequest) -> HttpResponse:
    """List what happened in a period, the newest first; minors by initials."""
    gym, form = request.member.gym, PeriodForm(request.GET)
    period = form.period if form.is_valid() else queries.Period()
    context = {
        "form": form,
        "incidents": queries.incidents_of(gym, period),
        "query": request.GET.urlencode() if form.is_valid() else "",
        "may_log": may(request.member, "may_log"),
    }
    return render_page(request, "skills/safety/incidents.html", context, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def incident_add(request: MemberRequest) -> HttpResponseBase:
    """Write down what happened; `athlete`, `session` and `step` may be chosen beforehand by the address."""
    form = _incident_form(request)
    if request.method == "POST" and form.is_valid():
        try:
            incident = service.log_incident(by=request.member, entry=_incident_entry(request, form))
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "It is in the log. It is never edited; notes can be added to it.")
            return redirect_to("incident", incident.id)
    return render_page(request, "skills/safety/incident_add.html", {"form": form}, status=form.status)


def _incident_form(request: MemberRequest) -> IncidentForm:
    gym, now = request.member.gym, timezone.localtime(timezone=request.member.gym.zone)
    chosen = {name: request.GET[name] for name in _OFFERED if name in request.GET}
    return IncidentForm(
        zone=gym.zone,
        book=book_of(gym),
        athletes=practising_of(gym, now),
        sessions=queries.recent_sessions(gym),
        data=request.POST or None,
        initial={"day": f"{now:%Y-%m-%d}", "time": f"{now:%H:%M}", **chosen},
    )


def _incident_entry(request: MemberRequest, form: IncidentForm) -> service.IncidentEntry:
    member, said = request.member, form.cleaned_data
    athlete_id, session_id, step_id = (form.chosen(name) for name in _OFFERED)
    return service.IncidentEntry(
        kind=said["kind"],
        happened_at=form.happened_at,
        words=said["words"],
        athlete=access_athlete(member, athlete_id) if athlete_id else None,
        session=access_session(member, session_id) if session_id else None,
        step=access_step(member, step_id) if step_id else None,
        first_aid=said["first_aid"],
        doctor=said["doctor"],
        guardian_told=said["guardian_told"],
        **({"id": said["id"]} if said["id"] else {}),
    )


@require_safe
@allow(*STAFF)
def incident(request: MemberRequest, incident_id: UUID) -> HttpResponse:
    """Show what happened, and what was added since."""
    return _incident_page(request, access_incident(request.member, incident_id), IncidentNoteForm())


@require_POST
@allow(OWNER, COACH, right="may_log")
def incident_note(request: MemberRequest, incident_id: UUID) -> HttpResponseBase:
    """Add what was learned or done since."""
    row, form = access_incident(request.member, incident_id), IncidentNoteForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        try:
            service.add_incident_note(by=request.member, incident=row, words=said["words"], note_id=said["id"])
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            messages.success(request, "The note is added.")
            return redirect_to("incident", row.id)
    return _incident_page(request, row, form)


def _incident_page(request: MemberRequest, row: Incident, form: IncidentNoteForm) -> HttpResponse:
    (whole,) = queries.whole_incidents(request.member.gym, [row])
    context = {"whole": whole, "form": form if may(request.member, "may_log") else None}
    return render_page(request, "skills/safety/incident.html", context, status=form.status)


_INCIDENT_COLUMNS: Final = (
    "happened_at", "kind", "number", "athlete", "minor", "class", "step", "what_happened", "first_aid",
    "seen_by_somebody_licensed", "guardian_told", "entered_by", "recorded_at", "added_since",
)  # fmt: skip


@require_safe
@allow(OWNER)
def incidents_csv(request: MemberRequest) -> HttpResponseBase:
    """Give the incidents of a period as CSV, by the names that were agreed to for reports."""
    gym, form = request.member.gym, PeriodForm(request.GET)
    if not form.is_valid():
        return incidents(request)
    found = list(queries.incidents_of(gym, form.period))
    names = reported_names({row.athlete for row in found if row.athlete}, timezone.now())
    rows = (_incident_row(whole, names) for whole in queries.whole_incidents(gym, found))
    return _file(f"{gym.slug}-incidents.csv", csv_file(_INCIDENT_COLUMNS, rows))


def _incident_row(whole: queries.IncidentWhole, names: Mapping[UUID, str]) -> tuple[str | int, ...]:
    row, athlete = whole.row, whole.row.athlete
    return (
        _moment(row.happened_at),
        row.get_kind_display(),
        athlete.number if athlete else "",
        names[athlete.id] if athlete else "",
        _YES[athlete.is_minor()] if athlete else "",
        row.session.name if row.session else "",
        str(row.step or ""),
        whole.words,
        _YES[row.first_aid],
        _YES[row.doctor],
        _YES[row.guardian_told],
        row.entered_by.person.full_name,
        _moment(row.recorded_at),
        "\n".join(
            f"{_moment(note.happened_at)} {note.entered_by.person.full_name}: {text}" for note, text in whole.notes
        ),
    )


# ---- Equipment --------------------------------------------------------------------------------------------


@require_safe
@allow(*STAFF)
def equipment(request: MemberRequest) -> HttpResponse:
    """Show how each piece of equipment was found last, what is not fit first."""
    gym, form = request.member.gym, PeriodForm(request.GET)
    context = {"checks": _told(queries.equipment_now(gym)), "form": form, "may_log": may(request.member, "may_log")}
    return render_page(request, "skills/safety/equipment.html", context, status=_status(form))


def _told(checks: list[queries.CheckWhole]) -> list[tuple[queries.CheckWhole, list[str]]]:
    return [(whole, [LOOKED_AT.get(code, code) for code in whole.row.found]) for whole in checks]


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_log")
def equipment_check(request: MemberRequest) -> HttpResponseBase:
    """Record by name how a piece of equipment was found."""
    form = EquipmentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            row = service.check_equipment(by=request.member, entry=form.entry())
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            words = "fit for use" if row.fit else "not fit for use, and in sight on today’s page until it is"
            messages.success(request, f"Checked: {row.item}, {words}.")
            return redirect_to("equipment")
    items = [whole.row.item for whole in queries.equipment_now(request.member.gym)]
    return render_page(
        request, "skills/safety/equipment_check.html", {"form": form, "items": items}, status=form.status
    )


_CHECK_COLUMNS: Final = (
    "happened_at", "item", "fit", "found_in_order", "hole_left", "hole_right", "reason", "checked_by",
)  # fmt: skip


@require_safe
@allow(OWNER)
def equipment_csv(request: MemberRequest) -> HttpResponseBase:
    """Give the checks of a period as CSV."""
    gym, form = request.member.gym, PeriodForm(request.GET)
    if not form.is_valid():
        return equipment(request)
    rows = queries.whole_checks(gym, list(queries.checks_of(gym, form.period)))
    return _file(f"{gym.slug}-equipment.csv", csv_file(_CHECK_COLUMNS, map(_check_row, rows)))


def _check_row(whole: queries.CheckWhole) -> tuple[str | int, ...]:
    row: EquipmentCheck = whole.row
    return (
        _moment(row.happened_at),
        row.item,
        _YES[row.fit],
        " ".join(LOOKED_AT.get(code, code) for code in row.found),
        "" if row.hole_left is None else row.hole_left,
        "" if row.hole_right is None else row.hole_right,
        whole.reason,
        row.checked_by.person.full_name,
    )


def _file(name: str, content: bytes) -> HttpResponse:
    response = HttpResponse(content, content_type=CONTENT_TYPE)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return kept_nowhere(response)


def _moment(moment: datetime) -> str:
    return timezone.localtime(moment).isoformat(timespec="minutes")


def _status(form: PeriodForm) -> HTTPStatus:
    return HTTPStatus.OK if form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
