import django.db.models.deletion
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0004_consent_asked_rights_so_far"),
    ]

    operations = [
        migrations.AddField(
            model_name="athlete",
            name="guest",
            field=models.BooleanField(default=False),
        ),
        migrations.CreateModel(
            name="CoachCode",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("digest", models.CharField(max_length=128)),
                ("set_at", models.DateTimeField()),
                ("failures", models.PositiveSmallIntegerField(default=0)),
                ("locked_until_at", models.DateTimeField(blank=True, null=True)),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "membership",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="coach_code", to="athletes.membership"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Tablet",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("code_digest", models.CharField(blank=True, max_length=64)),
                ("code_until_at", models.DateTimeField(blank=True, null=True)),
                ("key_digest", models.CharField(blank=True, max_length=64, null=True, unique=True)),
                ("enrolled_at", models.DateTimeField(blank=True, null=True)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("heard_at", models.DateTimeField(blank=True, null=True)),
                ("offset_ms", models.BigIntegerField(blank=True, null=True)),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "let_in_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="HandOver",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("claimed_at", models.DateTimeField(blank=True, null=True)),
                ("confirmed_at", models.DateTimeField()),
                ("until_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "coach",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hand_overs", to="athletes.membership"
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "tablet",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="hand_overs", to="athletes.tablet"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["gym", "tablet", "coach", "until_at"], name="hand_over_in_force")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("until_at__gt", models.F("confirmed_at"))), name="hand_over_lasts"
                    )
                ],
            },
        ),
    ]
