"""Rights as facts: each change is appended, so that it can be told later who held which right when."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from athletes.core.refusal import Refusal
from athletes.core.roster import shown
from athletes.models import Gym, Membership, RightsChange
from athletes.queries.taught import skills_taught


class UnknownSkill(Refusal):
    """The right to sign off is for skills that the gym teaches."""

    field = "sign_off_skills"


class NoSkillChosen(Refusal):
    """The right to sign off is for one skill at least."""

    field = "sign_off_skills"


def checked_skills(gym: Gym, rights: Collection[str], sign_off_skills: Collection[str] | None) -> list[str] | None:
    """Return the slugs for which the right to sign off is to hold, as they are stored; None for every skill.

    None, too, without that right: there is nothing to limit. Raises UnknownSkill, NoSkillChosen.
    """
    if "may_sign_off" not in rights or sign_off_skills is None:
        return None
    if unknown := set(sign_off_skills).difference(skills_taught(gym)):
        raise UnknownSkill(f"This gym teaches no skill {', '.join(shown(slug) for slug in sorted(unknown))}.")
    if not sign_off_skills:
        raise NoSkillChosen("Choose a skill at least, or every skill, for the right to sign off.")
    return sorted(set(sign_off_skills))


def note_rights(
    *, membership: Membership, rights: Collection[str], at: datetime, sign_off_skills: Collection[str] | None = None
) -> RightsChange:
    """Append that a coach or an owner holds these rights, and no others, from a moment on.

    `sign_off_skills` are the slugs of the skills for which the right to sign off holds, None for every skill. In the
    caller's transaction, which stores the same in the membership itself.
    """
    return RightsChange.objects.create(
        gym_id=membership.gym_id,
        membership=membership,
        rights=sorted(rights),
        sign_off_skills=None if sign_off_skills is None else sorted(sign_off_skills),
        happened_at=at,
        recorded_at=at,
    )
