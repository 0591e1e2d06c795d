"""What a rule lets through, as a curve, a table and a few plain words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from http import HTTPStatus

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from gymtrack.lib.charts import Axis, Chart, Frame, draw
from gymtrack.lib.http import render_page
from skills import rule_words, wording
from skills.core.criteria import Criterion
from skills.core.days import moment_us
from skills.core.operating_curve import SAMPLES, Curve, Point, curve_of
from skills.core.orders import in_a_row, in_any_order
from skills.core.plans import Plan
from skills.forms.curves import PlanForm
from skills.queries.books import Book, StepPage, book_of
from skills.wording import Terms

KINDS = ("line", "target", "estimate")  # the looks of the lines in css/charts.css, in their order
TOLD = ((0.3, "three times in ten"), (0.8, "eight times in ten"))  # a weak athlete and a strong one


@dataclass(frozen=True, slots=True)
class Line:
    """One rule of a chart: its name there, its sentence, the look of its line, and its curve."""

    name: str
    sentence: str
    kind: str
    curve: Curve

    @property
    def standard_error(self) -> str:
        """The largest standard error of a simulated curve, '' for an exact one."""
        errors = [point.standard_error for point in self.curve.points if point.standard_error is not None]
        return _percent(max(errors)) if errors else ""


@dataclass(frozen=True, slots=True)
class Telling:
    """Of 100 athletes with one true clean rate, how many each rule passes, by the name of its line."""

    times: str
    passes: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Curves:
    """What `skills/criteria/_curve.html` shows, as `curves`."""

    plan: Plan
    lines: tuple[Line, ...]
    tellings: tuple[Telling, ...]
    chart: Chart
    samples: int = SAMPLES

    @property
    def tries(self) -> str:
        """How many tries there are, in words."""
        return wording.counted(self.plan.tries, "try", "tries")

    @property
    def simulated(self) -> tuple[Line, ...]:
        """The lines that are no exact figures."""
        return tuple(line for line in self.lines if line.curve.method == "simulation")


def curves_of(rules: Iterable[tuple[str, Criterion]], plan: Plan, terms: Terms) -> Curves:
    """Return the curves of up to three rules, each with the name of its line, under one plan."""
    lines = tuple(
        Line(name, rule_words.rule(criterion, terms), kind, curve_of(criterion, plan))
        for (name, criterion), kind in zip(rules, KINDS, strict=False)
    )
    return Curves(plan, lines, tuple(_telling(rate, times, lines) for rate, times in TOLD), _chart(plan, lines))


def beside_others(criterion: Criterion) -> list[tuple[str, Criterion]]:
    """Return a rule for `curves_of`, and the same count in a row and in any order where that is another rule."""
    others = (("the same in a row", in_a_row(criterion)), ("the same in any order", in_any_order(criterion)))
    return [("this rule", criterion), *((name, other) for name, other in others if other != criterion)]


@require_safe
@allow(OWNER, COACH)
def criterion_curve(request: MemberRequest, slug: str, code: str) -> HttpResponse:
    """Show what the criterion in force lets through under a plan."""
    book = book_of(request.member.gym)
    page = book.steps.get(code)
    if page is None or page.skill_slug != slug:
        raise Http404
    criterion, form = _in_force(book, page), PlanForm(request.GET)
    context: dict[str, object] = {"page": page, "form": form}
    if criterion is not None:
        terms = wording.terms_of(book).of_step(page)
        context["sentence"] = rule_words.rule(criterion, terms)
        if form.is_valid():
            context["curves"] = curves_of(beside_others(criterion), form.as_plan(), terms)
    status = HTTPStatus.OK if form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
    return render_page(request, "skills/criteria/curve.html", context, status=status)


def _in_force(book: Book, page: StepPage) -> Criterion | None:
    version = book.rules.steps[page.code].in_force_at(moment_us(timezone.now()))
    return version.criterion if version else None


def _telling(rate: float, times: str, lines: Iterable[Line]) -> Telling:
    return Telling(times, tuple((line.name, _of_hundred(line.curve.at(rate).chance)) for line in lines))


def _of_hundred(chance: float) -> str:
    """Return how many of 100 that is; what is nearly none or nearly all is not told as none or all."""
    whole = round(chance * 100)
    if whole == 0 and chance > 0:
        return "fewer than 1"
    return "more than 99" if whole == 100 and chance < 1 else str(whole)  # noqa: PLR2004 (all of 100)


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %"


def _whole_percent(share: float) -> str:
    return f"{share * 100:.0f} %"


def _chart(plan: Plan, lines: Sequence[Line]) -> Chart:
    at = [tenth / 5 for tenth in range(6)]
    frame = Frame(Axis("clean tries in the long run", at, _whole_percent), Axis("chance to pass", at, _whole_percent))
    tries = wording.counted(plan.tries, "try", "tries")
    points = [[(point.rate, point.chance) for point in line.curve.points] for line in lines]
    told = [(rate, line.curve.at(rate).chance) for line in lines for rate, _ in TOLD]
    return draw(
        frame,
        [*(frame.line(each, line.kind) for each, line in zip(points, lines, strict=True)), frame.dots(told)],
        name="curve",
        title=f"Estimate: the chance to pass within {tries}",
        description=" ".join(_described(line) for line in lines),
        columns=("Clean in the long run", *(line.name.capitalize() for line in lines)),
        rows=[_row(each) for each in zip(*(line.curve.points for line in lines), strict=True)],
    )


def _described(line: Line) -> str:
    shares = [f"{_percent(line.curve.at(rate).chance)} at {_whole_percent(rate)} clean" for rate, _ in TOLD]
    return f"{line.name.capitalize()}: {', '.join(shares)}."


def _row(points: Sequence[Point]) -> tuple[str, ...]:
    return _whole_percent(points[0].rate), *(_percent(point.chance) for point in points)
