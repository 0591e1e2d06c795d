"""Writing a step's criterion, trying it on what has happened, adopting it. Nothing is stored before that."""

from __future__ import annotations

from dataclasses import dataclass
from http import HTTPStatus

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.access.rules import COACH, OWNER, AccessRule, MemberRequest, allow
from athletes.core.refusal import Refusal
from gymtrack.lib.http import redirect_to, render_page
from skills import rule_words, wording
from skills.core.criteria import Criterion, canonical
from skills.core.criterion_edits import draft_of
from skills.core.days import moment_us
from skills.forms.criteria import Editor, criterion_sent, draft_sent, edited, ready_made
from skills.forms.curves import USUAL_PLAN
from skills.queries.books import Book, StepPage, book_of
from skills.queries.criteria import latest_number, versions_of
from skills.queries.trials import replay_of
from skills.services.criteria import SameCriterion, adopt_criterion
from skills.telling import when
from skills.views.curves import curves_of

RULE = AccessRule((OWNER, COACH), "may_edit_skills")


@dataclass(frozen=True, slots=True)
class Version:
    """A version of a criterion, in words; `since` is '' for one that came with the skill, in force since ever."""

    number: int
    since: str
    by: str
    sentence: str


@require_http_methods(["GET", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def criterion_edit(request: MemberRequest, slug: str, code: str) -> HttpResponse:
    """Show the criterion in force as a draft, or the draft that was sent after what a button did to it."""
    book, page = _step(request, slug, code)
    root, focus = None, ""
    if request.method == "GET" or "tree" in request.POST:
        start = _in_force(book, page)
        if "tree" in request.POST:
            start = criterion_sent(request.POST["tree"]) or start
        root = draft_of(start) if start else None
    else:
        root, focus = edited(draft_sent(request.POST), request.POST.get("edit", ""), page)
    return _editor_page(request, Editor(root, book, page, focus=focus), live="live" in request.POST)


@require_http_methods(["GET", "POST"])
@allow(OWNER, COACH, right="may_edit_skills")
def criterion_trial(request: MemberRequest, slug: str, code: str) -> HttpResponseBase:
    """Show what a draft would do; back to the editor with one that is no criterion yet."""
    book, page = _step(request, slug, code)
    if request.method == "GET":
        return redirect_to("criterion_edit", slug, code)
    root = draft_sent(request.POST)
    editor = Editor(root, book, page, judged=root)
    if editor.criterion is None:
        return _editor_page(request, editor, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return _trial_page(request, book, page, editor.criterion)


@require_POST
@allow(OWNER, COACH, right="may_edit_skills")
def criterion_adopt(request: MemberRequest, slug: str, code: str) -> HttpResponseBase:
    """Adopt the criterion that was tried, if the version that it was compared with is still the latest."""
    _, page = _step(request, slug, code)
    criterion = criterion_sent(request.POST.get("tree", ""))
    if criterion is None:
        messages.error(request, "There was no criterion to adopt; nothing was changed.")
        return redirect_to("criterion_edit", slug, code)
    try:
        adopt_criterion(
            by=request.member, step=page, criterion=criterion, instead_of=_number(request.POST.get("instead_of", ""))
        )
    except SameCriterion as refusal:
        messages.info(request, str(refusal))
    except Refusal as refusal:
        return _refused(request, slug, code, criterion, str(refusal))
    else:
        messages.success(request, "The criterion holds from now on. What was passed before stays passed.")
    return redirect_to("step", slug, code)


def may_edit(request: MemberRequest) -> bool:
    """Whether the member may change criteria."""
    return RULE.admits(request.member)


def version_lines(book: Book, page: StepPage) -> list[Version]:
    """Return the versions of a step's criterion in words, the newest first; one query."""
    terms = wording.terms_of(book).of_step(page)
    return [
        Version(
            number=line.number,
            since=when(line.from_at) if moment_us(line.from_at) > 0 else "",
            by=line.adopted_by,
            sentence=rule_words.rule(line.criterion, terms),
        )
        for line in versions_of(page)
    ]


def _step(request: MemberRequest, slug: str, code: str) -> tuple[Book, StepPage]:
    book = book_of(request.member.gym)
    page = book.steps.get(code)
    if page is None or page.skill_slug != slug:
        raise Http404
    return book, page


def _in_force(book: Book, page: StepPage) -> Criterion | None:
    version = book.rules.steps[page.code].in_force_at(moment_us(timezone.now()))
    return version.criterion if version else None


def _number(text: str) -> int:
    """Return the number of a version; one that never was for anything else."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1  # noqa: PLR2004


def _editor_page(
    request: MemberRequest, editor: Editor, *, live: bool = False, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {
        "editor": editor,
        "page": editor.page,
        "live": live,
        "ready_made": ready_made(editor.book, editor.page, _in_force(editor.book, editor.page)),
    }
    fragment = "told" if live else "editor"
    return render_page(request, "skills/criteria/edit.html", context, status=status, fragment=fragment)


def _trial_page(
    request: MemberRequest,
    book: Book,
    page: StepPage,
    draft: Criterion,
    *,
    error: str = "",
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    terms = wording.terms_of(book).of_step(page)
    in_force = _in_force(book, page)
    rules = [("the rule now", in_force)] if in_force and in_force != draft else []
    context = {
        "page": page,
        "old": rule_words.rule(in_force, terms) if in_force else "",
        "new": rule_words.rule(draft, terms),
        "is_same": draft == in_force,
        "tree": canonical(draft),
        "instead_of": latest_number(page),
        "replay": replay_of(book, page, draft, timezone.now()),
        "curves": curves_of([*rules, ("the draft", draft)], USUAL_PLAN, terms),
        "error": error,
    }
    return render_page(request, "skills/criteria/trial.html", context, status=status)


def _refused(request: MemberRequest, slug: str, code: str, draft: Criterion, sentence: str) -> HttpResponse:
    """Show the trial anew, against what is in force by now; or the editor, where the draft does not fit the step."""
    request.member.gym.refresh_from_db(fields=["rules_stamp"])
    book, page = _step(request, slug, code)
    editor = Editor(draft_of(draft), book, page)
    if editor.criterion is None:
        return _editor_page(request, editor, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return _trial_page(request, book, page, draft, error=sentence, status=HTTPStatus.UNPROCESSABLE_ENTITY)
