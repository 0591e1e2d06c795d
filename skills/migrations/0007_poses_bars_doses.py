import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0007_measures_for_bars"),
        ("skills", "0006_keyed_digests"),
    ]

    operations = [
        migrations.CreateModel(
            name="Bar",
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
                            ("pull_up", "pull-up bar"),
                            ("tied", "bar tied on hooks in a rack"),
                            ("rail", "gymnastics bar"),
                            ("other", "other bar"),
                        ],
                        max_length=10,
                    ),
                ),
                ("diameter_tenths_mm", models.PositiveSmallIntegerField()),
                ("height_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("first_hole_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("hole_pitch_tenths_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("holes", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("ceiling_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("clear_front_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("clear_behind_mm", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("mat_mm", models.PositiveSmallIntegerField(default=0)),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["position", "name"],
            },
        ),
        migrations.CreateModel(
            name="DoseChange",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("week_on", models.DateField()),
                ("sets", models.PositiveSmallIntegerField(null=True)),
                ("reps", models.PositiveSmallIntegerField(null=True)),
                ("hold_seconds", models.PositiveSmallIntegerField(null=True)),
                ("rest_seconds", models.PositiveSmallIntegerField(null=True)),
                ("days", models.PositiveSmallIntegerField(null=True)),
                ("taken_back", models.BooleanField(default=False)),
                ("remark_commitment", models.CharField(blank=True, max_length=64)),
            ],
        ),
        migrations.AddField(
            model_name="barcheck",
            name="hole",
            field=models.PositiveSmallIntegerField(null=True),
        ),
        migrations.AddField(
            model_name="step",
            name="knee_degrees",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="step",
            name="station",
            field=models.CharField(
                choices=[
                    ("high_bar", "high bar"),
                    ("low_bar", "low bar"),
                    ("rings", "rings"),
                    ("floor", "floor or wall"),
                    ("box", "step-up box"),
                ],
                default="high_bar",
                max_length=10,
            ),
        ),
        migrations.AddField(
            model_name="step",
            name="thigh_degrees",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("knee_degrees", None), ("thigh_degrees", None)),
                    models.Q(
                        ("knee_degrees__isnull", False),
                        ("knee_degrees__lte", 180),
                        ("thigh_degrees__isnull", False),
                        ("thigh_degrees__lte", 180),
                    ),
                    _connector="OR",
                ),
                name="step_pose_whole_or_none",
            ),
        ),
        migrations.AddField(
            model_name="bar",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="barcheck",
            name="of",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="checks", to="skills.bar"
            ),
        ),
        migrations.AddField(
            model_name="dosechange",
            name="athlete",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="dose_changes", to="athletes.athlete"
            ),
        ),
        migrations.AddField(
            model_name="dosechange",
            name="changed_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="dosechange",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="dosechange",
            name="step",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="skills.step"),
        ),
        migrations.AddConstraint(
            model_name="bar",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at", None)), fields=("gym", "name"), name="bar_name_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="bar",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("first_hole_mm", None),
                        ("height_mm__isnull", False),
                        ("hole_pitch_tenths_mm", None),
                        ("holes", None),
                    ),
                    models.Q(
                        ("first_hole_mm__isnull", False),
                        ("height_mm", None),
                        ("hole_pitch_tenths_mm__gt", 0),
                        ("holes__gt", 0),
                    ),
                    _connector="OR",
                ),
                name="bar_fixed_or_in_holes",
            ),
        ),
        migrations.AddIndex(
            model_name="dosechange",
            index=models.Index(fields=["gym", "athlete", "week_on"], name="dose_change_of_week"),
        ),
        migrations.AddConstraint(
            model_name="dosechange",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("days__gt", 0),
                        ("reps__gt", 0),
                        ("rest_seconds__isnull", False),
                        ("sets__gt", 0),
                        ("taken_back", False),
                    ),
                    models.Q(
                        ("days", None), ("hold_seconds", None), ("reps", None), ("rest_seconds", None), ("sets", None)
                    ),
                    _connector="OR",
                ),
                name="dose_change_whole_or_none",
            ),
        ),
    ]
