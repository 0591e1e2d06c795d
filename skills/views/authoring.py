"""Writing skills and steps: forms, files in and out, the order, and the schema of the files."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase, JsonResponse
from django.views.decorators.http import require_http_methods, require_POST

from athletes.access.rules import COACH, EVERYBODY, OWNER, MemberRequest, allow
from athletes.core.refusal import Refusal
from gymtrack.lib.http import kept_nowhere, redirect_to, render_page
from skills import rule_words, wording
from skills.core import criteria
from skills.forms.skills import SkillFileForm, SkillForm
from skills.forms.steps import StepTextForm, data_of
from skills.library.changes import SkillChanges, StepChange
from skills.library.documents import MOST_BYTES
from skills.library.reading import read_skill
from skills.library.schema import skill_schema
from skills.library.texts import MOST_ROWS, MOST_STEPS, LibraryError, SkillText, StepText
from skills.library.writing import skill_yaml
from skills.queries.books import book_of
from skills.queries.texts import former_words, skill_texts, version_number
from skills.services import authoring as service

Texts = Mapping[str, SkillText]


# ---- Skills ---------------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def skill_add(request: MemberRequest) -> HttpResponseBase:
    """Add a skill; its first step comes next."""
    form = SkillForm(request.POST or None, known=skill_texts(request.member.gym_id))
    heading = form.read() if request.method == "POST" else None
    if heading is not None:
        place = form.cleaned_data["place"]
        if _saved(form, lambda: service.add_skill(by=request.member, heading=heading, place=place)):
            messages.success(request, "The skill is stored. Add its first step now.")
            return redirect_to("step_add", heading.skill)
    return render_page(request, "skills/skills/skill_form.html", {"form": form}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def skill_change(request: MemberRequest, slug: str) -> HttpResponseBase:
    """Change a skill's name, purpose and place, and the order of its steps."""
    known = skill_texts(request.member.gym_id)
    skill = _skill(known, slug)
    form = SkillForm(request.POST or None, known=known, slug=slug)
    heading = form.read() if request.method == "POST" else None
    if heading is not None:
        words = {"name": heading.name, "purpose": heading.purpose, "place": form.cleaned_data["place"]}
        if _saved(form, lambda: service.change_skill(by=request.member, slug=slug, **words)):
            messages.success(request, "The skill is stored.")
            return redirect_to("skill_change", slug)
    context = {"form": form, "skill": skill}
    return render_page(request, "skills/skills/skill_form.html", context, status=form.status)


@require_POST
@allow(OWNER, COACH, right="may_edit_skills")
def step_order(request: MemberRequest, slug: str, code: str) -> HttpResponseBase:
    """Move a step one place up or down."""
    _step(_skill(skill_texts(request.member.gym_id), slug), code)
    service.move_step(by=request.member, slug=slug, code=code, up=request.POST.get("to") != "down")
    response = redirect_to("skill_change", slug)
    response["Location"] += "#steps"
    return response


# ---- Steps ----------------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def step_add(request: MemberRequest, slug: str) -> HttpResponseBase:
    """Add a step at the end of a skill."""
    known = skill_texts(request.member.gym_id)
    skill = _skill(known, slug)
    form = StepTextForm(request.POST or data_of(None), skill=skill, known=known)
    step = _typed(request, form)
    if step and _saved(form, lambda: service.add_step(by=request.member, slug=slug, step=step)):
        messages.success(request, "The step is stored, with the usual first criterion. Look at the criterion now.")
        return redirect_to("step", slug, step.code)
    return _step_page(request, form)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def step_change(request: MemberRequest, slug: str, code: str) -> HttpResponseBase:
    """Change all that a step says, but for its code and its criterion."""
    gym = request.member.gym
    known = skill_texts(gym.id)
    skill = _skill(known, slug)
    step, page = _step(skill, code), book_of(gym).steps[code]
    seen = version_number(gym.id, page.id)
    form = StepTextForm(
        request.POST or data_of(step, seen),
        skill=skill,
        known=known,
        step=step,
        former=former_words(gym.id, page.id),
    )
    typed = _typed(request, form)
    if typed:
        sent = str(form.cleaned_data["seen"])
        number = int(sent) if sent.isdecimal() and len(sent) < len(str(MOST_BYTES)) else 0
        if _saved(form, lambda: service.change_step(by=request.member, slug=slug, step=typed, seen=number)):
            messages.success(request, "The step is stored. What was passed or signed before stays as it was decided.")
            return redirect_to("step", slug, code)
    return _step_page(request, form)


def _typed(request: MemberRequest, form: StepTextForm) -> StepText | None:
    """Return the step of a form that was sent to be stored."""
    if request.method != "POST":
        return None
    if button := request.POST.get("do"):
        form.edit(button)
        return None
    return form.read()


def _step_page(request: MemberRequest, form: StepTextForm) -> HttpResponse:
    context = {"form": form, "skill": form.skill, "step": form.step, "most_rows": MOST_ROWS}
    return render_page(request, "skills/skills/step_form.html", context, status=form.status)


def _saved(form: SkillForm | StepTextForm, save: Callable[[], SkillChanges]) -> bool:
    """Whether it was stored; otherwise every reason stands beside its field."""
    try:
        save()
    except service.NotSaved as refusal:
        if isinstance(form, SkillForm):
            form.put(refusal.found)
        else:
            form.place(refusal.found)
    except Refusal as refusal:
        form.add_error(None, str(refusal))
    else:
        return True
    return False


# ---- Files ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A step that an import adds or changes, in words; the criteria only where they differ."""

    name: str
    keys: str
    criterion_before: str
    criterion: str


@allow(*EVERYBODY)
def skill_schema_file(request: MemberRequest) -> HttpResponse:
    """Serve the JSON Schema of skill files."""
    del request  # the same for everybody
    response = JsonResponse(skill_schema(), json_dumps_params={"indent": 2})
    response["Content-Type"] = "application/schema+json"
    return kept_nowhere(response)


@allow(OWNER, COACH, right="may_edit_skills")
def skill_export(request: MemberRequest, slug: str) -> HttpResponse:
    """Serve a skill as a file."""
    skill = _skill(skill_texts(request.member.gym_id), slug)
    headers = {"Content-Disposition": f'attachment; filename="{slug}.yaml"'}
    return kept_nowhere(HttpResponse(skill_yaml(skill), content_type="application/yaml", headers=headers))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def skill_import(request: MemberRequest) -> HttpResponseBase:
    """Bring a skill file in: look at what it changes, then confirm."""
    form = SkillFileForm(request.POST or None, request.FILES or None)
    context: dict[str, object] = {"form": form, "most_kb": MOST_BYTES // 1000, "most_steps": MOST_STEPS}
    content = form.content() if request.method == "POST" else None
    if content is None:
        return render_page(request, "skills/skills/import.html", context, status=form.status)
    try:
        text = read_skill(content, where=_file_name(request))
        if "confirm" in request.POST:
            changes = service.import_skill(by=request.member, text=text, seen=_stamp(request))
            messages.success(request, "Nothing was to be changed." if changes.nothing else "The skill is stored.")
            return redirect_to("skill", text.skill)
        context |= _preview(request, service.preview_import(by=request.member, text=text))
    except (LibraryError, service.NotSaved) as error:
        context["problems"] = error.found
    except Refusal as refusal:
        form.add_error(None, str(refusal))
    context["form"] = _to_mend(form, content)
    wrong = form.errors or "problems" in context
    status = HTTPStatus.UNPROCESSABLE_ENTITY if wrong else HTTPStatus.OK
    return render_page(request, "skills/skills/import.html", context, status=status)


def _file_name(request: MemberRequest) -> str:
    file = request.FILES.get("file")
    return str(file.name)[:80] if file else "the text"


def _stamp(request: MemberRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("seen", ""))
    except ValueError:
        return None


def _to_mend(form: SkillFileForm, content: str) -> SkillFileForm:
    """Return the form with the text of the file in it, so that it can be mended or confirmed."""
    again = SkillFileForm({"text": content.replace("\0", "�")})
    for error in form.non_field_errors():
        again.add_error(None, error)
    return again


def _preview(request: MemberRequest, changes: SkillChanges) -> dict[str, object]:
    known = {step.code: step for skill in skill_texts(request.member.gym_id).values() for step in skill.steps}
    named = known | {step.code: step for step in changes.skill.steps}
    return {
        "changes": changes,
        "seen": request.member.gym.rules_stamp,
        "new": [_line(change, named) for change in changes.new],
        "changed": [_line(change, named) for change in changes.changed],
    }


def _line(change: StepChange, named: Mapping[str, StepText]) -> ChangeLine:
    differs = change.before is None or "criterion" in change.keys
    return ChangeLine(
        name=_name(change.step),
        keys=", ".join(key.replace("_", " ") for key in change.keys),
        criterion_before=_rule(change.before, named) if change.before and differs else "",
        criterion=_rule(change.step, named) if differs else "",
    )


def _rule(step: StepText, named: Mapping[str, StepText]) -> str:
    terms = wording.Terms(lambda code: _name(named[code]), "UTC", step.grades)
    return rule_words.rule(criteria.parse(step.criterion), terms) if step.criterion else "none"


def _name(step: StepText) -> str:
    return f"{step.label} {step.name}"


def _skill(known: Texts, slug: str) -> SkillText:
    if slug not in known:
        raise Http404
    return known[slug]


def _step(skill: SkillText, code: str) -> StepText:
    found = next((step for step in skill.steps if step.code == code), None)
    if found is None:
        raise Http404
    return found
