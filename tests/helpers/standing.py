"""How an athlete stands now, as the kept timelines say."""

from django.utils import timezone

from athletes.models import Athlete, Gym
from skills.core.days import moment_us
from skills.core.timeline import Change
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines


def standing_now(athlete: Athlete, code: str) -> Change:
    """Read the kept timeline of a step at this moment; the gym is read anew."""
    book = book_of(Gym.objects.get(pk=athlete.gym_id))
    return kept_timelines(book, [athlete.id])[athlete.id][code].at(moment_us(timezone.now()))
