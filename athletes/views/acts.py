"""Who did what in the gym, for its owner: a page, and a file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponseBase, StreamingHttpResponse
from django.views.decorators.http import require_safe

from athletes.access.rules import OWNER, MemberRequest, allow
from athletes.core.days import month_bounds
from athletes.queries.acts import Act, ActsAsked, acts_of, all_acts, people_who_act
from gymtrack.lib.csv_export import CONTENT_TYPE, csv_lines
from gymtrack.lib.http import kept_nowhere, render_page

_COLUMNS: Final = ("position", "recorded_at", "who", "did", "whom", "act", "about", "content", "seal")
_PLACE: Final = re.compile("[1-9][0-9]{0,17}")


@require_safe
@allow(OWNER)
def acts(request: MemberRequest) -> HttpResponseBase:
    """Show the acts, the newest first, of everybody or of one, of always or of a month."""
    gym = request.member.gym
    asked, chosen = _asked(request)
    found, more = acts_of(gym, asked)
    context = {
        "acts": found,
        "people": people_who_act(gym),
        "chosen": chosen,
        "older": urlencode({**chosen, "before": more}) if more else "",
        "paged": asked.before is not None,
        "query": urlencode(chosen),
    }
    return render_page(request, "athletes/acts.html", context)


@require_safe
@allow(OWNER)
def acts_csv(request: MemberRequest) -> HttpResponseBase:
    """Give the same acts as CSV, the oldest first, with their seals."""
    gym = request.member.gym
    asked, chosen = _asked(request)
    response = StreamingHttpResponse(csv_lines(_COLUMNS, _rows(all_acts(gym, asked))), content_type=CONTENT_TYPE)
    name = "-".join([gym.slug, "acts", *([chosen["month"]] if "month" in chosen else [])])
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return kept_nowhere(response)


def _rows(found: Iterable[Act]) -> Iterator[tuple[str | int, ...]]:
    for act in found:
        entry = act.entry
        moment = act.at.isoformat(timespec="seconds")
        yield act.position, moment, act.who, act.did, act.whom, entry.act, str(entry.about), entry.content, entry.seal


def _asked(request: MemberRequest) -> tuple[ActsAsked, dict[str, str]]:
    """Return what was asked for, and the same as it goes into addresses; what cannot be is left out."""
    who, month, before = (request.GET.get(name, "") for name in ("who", "month", "before"))
    bounds = month_bounds(month, request.member.gym.zone)
    since, until = bounds or (None, None)
    asked = ActsAsked(_uuid(who), since, until, int(before) if _PLACE.fullmatch(before) else None)
    chosen = {"who": str(asked.who) if asked.who else "", "month": month if bounds else ""}
    return asked, {name: value for name, value in chosen.items() if value}


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
