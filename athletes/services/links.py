"""The end of who looks from home: a guardian's link to an athlete, an athlete's own log-in."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from athletes.models import Athlete, Guardianship, Invitation, Membership
from athletes.services.audit import record_act
from athletes.services.endings import end_at_once
from athletes.services.invitations import revoke_invitation
from athletes.services.private_links import revoke_links_of_maker

Role = Membership.Role


@transaction.atomic
def end_guardianship(*, by: Membership, guardianship: Guardianship) -> bool:
    """End a guardian's link, and their membership with the last one; return whether it held until now."""
    ended_at = timezone.now()
    # Locked before the link, so that of two last links that end at once, the later one sees the other's end.
    guardian = Membership.objects.select_for_update(no_key=True).get(pk=guardianship.guardian_id)
    link = Guardianship.objects.filter(gym=by.gym, pk=guardianship.pk, ended_at=None)
    if not link.update(ended_at=ended_at):
        return False
    guardianship.ended_at = ended_at
    revoke_links_of_maker(maker=guardian, at=ended_at, athlete=guardianship.athlete)
    content: dict[str, object] = {"athlete": guardianship.athlete_id, "guardian": guardian.id}
    if not guardian.wards.filter(ended_at=None).exists():
        Membership.objects.filter(pk=guardian.pk, ended_at=None).update(ended_at=ended_at)
        end_at_once(membership=guardian, at=ended_at)
        content["ended"] = guardian.id
    record_act(gym=by.gym, actor=by, act="guardianship_ended", about=guardianship.id, content=content)
    return True


@transaction.atomic
def end_login(*, by: Membership, athlete: Athlete) -> bool:
    """End an athlete's own log-in to this gym; return whether there was one until now."""
    current = Membership.objects.filter(gym=by.gym, athlete=athlete, role=Role.ATHLETE, ended_at=None)
    members, ended_at = list(current.select_for_update(no_key=True)), timezone.now()
    if not members:
        return False
    ids = [member.id for member in members]
    Membership.objects.filter(pk__in=ids).update(ended_at=ended_at)
    for member in members:
        end_at_once(membership=member, at=ended_at)
    record_act(gym=by.gym, actor=by, act="login_ended", about=athlete.id, content={"ended": ids})
    return True


@transaction.atomic
def withdraw_login(*, by: Membership, athlete: Athlete) -> None:
    """End an athlete's log-in, and take back the invitations to one, where the consent to it is withdrawn."""
    end_login(by=by, athlete=athlete)
    waiting = Invitation.objects.filter(gym=by.gym, athlete=athlete, role=Role.ATHLETE, used_at=None, revoked_at=None)
    for invitation in waiting:
        revoke_invitation(by=by, invitation=invitation)
