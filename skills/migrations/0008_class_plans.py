import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0008_consent_to_a_log_in"),
        ("skills", "0007_poses_bars_doses"),
    ]

    operations = [
        migrations.CreateModel(
            name="WorkPlace",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("position", models.PositiveSmallIntegerField(default=0)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("high_bar", "high bar"),
                            ("low_bar", "low bar"),
                            ("rings", "rings"),
                            ("floor", "floor or wall"),
                            ("box", "step-up box"),
                        ],
                        max_length=10,
                    ),
                ),
                ("capacity", models.PositiveSmallIntegerField()),
                ("spot_from", models.CharField(blank=True, max_length=120)),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "bar",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_places",
                        to="skills.bar",
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
            ],
            options={
                "ordering": ["position", "name"],
            },
        ),
        migrations.CreateModel(
            name="ServedStep",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "step",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="+", to="skills.step"),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="served", to="skills.workplace"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ClassPlan",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("number", models.PositiveSmallIntegerField()),
                ("first_rotation", models.PositiveSmallIntegerField(default=0)),
                ("rotations", models.PositiveSmallIntegerField()),
                ("rotation_minutes", models.PositiveSmallIntegerField()),
                ("warm_up_minutes", models.PositiveSmallIntegerField(default=0)),
                ("reset_minutes", models.PositiveSmallIntegerField(default=3)),
                ("asked", models.TextField()),
                ("planned", models.TextField()),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="plans", to="skills.trainingsession"
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.UniqueConstraint(fields=("gym", "session", "number"), name="class_plan_number_once"),
                    models.CheckConstraint(
                        condition=models.Q(("rotations__gte", 1), ("rotation_minutes__gte", 1)), name="class_plan_whole"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RotationMark",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("rotation", models.PositiveSmallIntegerField()),
                ("skipped", models.BooleanField(default=False)),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "marked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rotation_marks",
                        to="skills.trainingsession",
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["gym", "session", "happened_at"], name="rotation_mark_by_time")],
            },
        ),
        migrations.AddConstraint(
            model_name="workplace",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at", None)), fields=("gym", "name"), name="work_place_name_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="workplace",
            constraint=models.CheckConstraint(
                condition=models.Q(("capacity__gte", 1), ("capacity__lte", 60)), name="work_place_capacity"
            ),
        ),
        migrations.AddConstraint(
            model_name="servedstep",
            constraint=models.UniqueConstraint(fields=("gym", "place", "step"), name="served_step_once"),
        ),
    ]
