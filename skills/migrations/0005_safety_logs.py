import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0006_people_and_safety"),
        ("skills", "0004_floor_acts"),
    ]

    operations = [
        migrations.CreateModel(
            name="Incident",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("fall", "fall or slip off the bar"),
                            ("collision", "collision"),
                            ("equipment", "equipment gave way"),
                            ("unwell", "somebody was unwell"),
                            ("nearly", "nearly: nobody was hurt"),
                            ("other", "something else"),
                        ],
                        max_length=10,
                    ),
                ),
                ("first_aid", models.BooleanField(default=False)),
                ("doctor", models.BooleanField(default=False)),
                ("guardian_told", models.BooleanField(default=False)),
                ("remark_commitment", models.CharField(max_length=64)),
                (
                    "athlete",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="incidents",
                        to="athletes.athlete",
                    ),
                ),
                (
                    "entered_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "session",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="skills.trainingsession",
                    ),
                ),
                (
                    "step",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="skills.step",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="IncidentNote",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("remark_commitment", models.CharField(max_length=64)),
                (
                    "entered_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="notes", to="skills.incident"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="RiskRead",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("digest", models.CharField(max_length=64)),
                (
                    "coach",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "step",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="risk_reads", to="skills.step"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="EquipmentCheck",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("item", models.CharField(max_length=60)),
                ("found", models.JSONField(default=list)),
                ("hole_left", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("hole_right", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("fit", models.BooleanField()),
                ("remark_commitment", models.CharField(blank=True, max_length=64)),
                (
                    "checked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["gym", "happened_at"], name="equipment_check_by_time")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("fit", True), models.Q(("remark_commitment", ""), _negated=True), _connector="OR"
                        ),
                        name="equipment_check_unfit_has_reason",
                    )
                ],
            },
        ),
        migrations.AddIndex(
            model_name="incident",
            index=models.Index(fields=["gym", "happened_at"], name="incident_by_time"),
        ),
        migrations.AddConstraint(
            model_name="riskread",
            constraint=models.UniqueConstraint(fields=("gym", "coach", "step", "digest"), name="risk_read_once"),
        ),
    ]
