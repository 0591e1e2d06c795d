"""Whether a gym asks for consents; and the rights of the staff until now, as facts."""

from __future__ import annotations

from typing import Any

from django.db import migrations, models

_RIGHTS = ("may_log", "may_sign_off", "may_edit_skills", "may_read_reports")


def note_rights_so_far(apps: Any, _editor: Any) -> None:  # noqa: ANN401 (the models as they were then have no type)
    """Append what each coach and owner may do since they began, and for who left that it ended then.

    Earlier changes were not kept as facts: what somebody may do now, or might at the end, stands for all of the time.
    """
    staff = apps.get_model("athletes", "Membership").objects.filter(role__in=("owner", "coach"), rights_changes=None)
    change = apps.get_model("athletes", "RightsChange")
    for member in staff.order_by("started_at", "pk"):
        held = [right for right in _RIGHTS if member.role == "owner" or getattr(member, right)]
        of = {"gym_id": member.gym_id, "membership": member}
        change.objects.create(**of, rights=sorted(held), happened_at=member.started_at)
        if member.ended_at:
            change.objects.create(**of, rights=[], happened_at=member.ended_at)


class Migration(migrations.Migration):
    dependencies = [("athletes", "0003_rights_certificates_consents")]

    operations = [
        migrations.AddField("gym", "asks_consent", models.BooleanField(default=False)),
        migrations.RunPython(note_rights_so_far, migrations.RunPython.noop),
    ]
