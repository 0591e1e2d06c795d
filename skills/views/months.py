"""The owner's month: a page, and the same figures as CSV."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpResponse, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe

from athletes.access.rules import COACH, OWNER, MemberRequest, allow
from athletes.queries.certificates import certificates_to_renew
from athletes.wording import certificate_words
from gymtrack.lib.csv_export import CONTENT_TYPE
from gymtrack.lib.http import kept_nowhere, render_page
from skills.core.month import Month, NoSuchMonthError, month_named
from skills.queries.months import days_of_month, first_fact_at, month_csv, month_report, month_tally


@require_safe
@allow(OWNER, COACH, right="may_read_reports")
def month(request: MemberRequest) -> HttpResponseBase:
    """Show this month."""
    return _page(request, _this_month(request))


@require_safe
@allow(OWNER, COACH, right="may_read_reports")
def month_of(request: MemberRequest, name: str) -> HttpResponseBase:
    """Show a month that has begun."""
    try:
        return _page(request, month_named(name, this=_this_month(request)))
    except NoSuchMonthError as error:
        return _no_such_month(request, error)


@require_safe
@allow(OWNER, COACH, right="may_read_reports")
def month_csv_file(request: MemberRequest, name: str) -> HttpResponseBase:
    """Give a month that has begun as CSV."""
    gym = request.member.gym
    try:
        chosen = month_named(name, this=_this_month(request))
    except NoSuchMonthError as error:
        return _no_such_month(request, error)
    response = HttpResponse(month_csv(gym, chosen), content_type=CONTENT_TYPE)
    response["Content-Disposition"] = f'attachment; filename="{gym.slug}-{chosen}.csv"'
    return kept_nowhere(response)


def _this_month(request: MemberRequest) -> Month:
    return Month.at(timezone.now(), request.member.gym.time_zone)


def _page(request: MemberRequest, chosen: Month) -> HttpResponse:
    gym, this = request.member.gym, _this_month(request)
    first_at = first_fact_at(gym)
    first = Month.at(first_at, gym.time_zone) if first_at else this
    context: dict[str, object] = {
        "month": chosen,
        "before": chosen.before if chosen > first else None,
        "after": chosen.after if chosen < this else None,
        "is_this": chosen == this,
        "first": first,
        "first_at": first_at,
    }
    if first_at and chosen >= first:
        context |= {
            "report": month_report(gym, chosen),
            "figures_before": month_tally(gym, chosen.before).gym,
            "days": days_of_month(gym, chosen),
        }
    if request.member.is_owner:
        today = timezone.localdate()
        to_renew = certificates_to_renew(gym, today)
        context["to_renew"] = [(person.person.full_name, certificate_words(line, today)) for person, line in to_renew]
    return render_page(request, "skills/months/month.html", context)


def _no_such_month(request: MemberRequest, error: NoSuchMonthError) -> HttpResponse:
    context = {"sentence": str(error)}
    return render_page(request, "skills/months/none.html", context, status=HTTPStatus.NOT_FOUND)
