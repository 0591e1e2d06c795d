import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0005_tablets_and_guests"),
    ]

    operations = [
        migrations.CreateModel(
            name="EmergencyContact",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("relation", models.CharField(blank=True, max_length=60)),
                ("phone", models.CharField(max_length=40)),
                ("entered_at", models.DateTimeField()),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Erasure",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("subject", models.UUIDField()),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="ErasureRequest",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("asked_at", models.DateTimeField()),
                (
                    "answer",
                    models.CharField(blank=True, choices=[("done", "done"), ("refused", "refused")], max_length=7),
                ),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("owner", "Owner"),
                            ("coach", "Coach"),
                            ("athlete", "Athlete"),
                            ("guardian", "Guardian"),
                        ],
                        max_length=8,
                    ),
                ),
                ("rights", models.JSONField(default=list)),
                ("sign_off_skills", models.JSONField(blank=True, null=True)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("until_at", models.DateTimeField()),
                ("mailed_at", models.DateTimeField(blank=True, null=True)),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("used_at", models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="PrivateLink",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("until_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                ("opened_at", models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="Screening",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("done_on", models.DateField()),
                ("expires_on", models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="SkinNote",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("until_on", models.DateField()),
            ],
        ),
        migrations.AddField(
            model_name="consent",
            name="extent",
            field=models.CharField(
                blank=True,
                choices=[("full_name", "full name"), ("initials", "initials"), ("number", "number alone")],
                max_length=9,
            ),
        ),
        migrations.AddField(
            model_name="gym",
            name="keep_months_after_leaving",
            field=models.PositiveSmallIntegerField(default=12),
        ),
        migrations.AddField(
            model_name="gym",
            name="keep_pain_notes_days",
            field=models.PositiveSmallIntegerField(default=90),
        ),
        migrations.AddField(
            model_name="gym",
            name="own_data_age_years",
            field=models.PositiveSmallIntegerField(default=16),
        ),
        migrations.AddField(
            model_name="gym",
            name="staff_need_second_factor",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="membership",
            name="sign_off_skills",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="rightschange",
            name="sign_off_skills",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="consent",
            name="kind",
            field=models.CharField(
                choices=[
                    ("spotting", "hands-on spotting"),
                    ("inversion", "going upside down"),
                    ("board", "being shown by name on the board"),
                    ("reports", "standing in the owner's reports by name"),
                    ("link", "a private link to the progress page"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="remark",
            name="subject",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.person"
            ),
        ),
        migrations.AddConstraint(
            model_name="consent",
            constraint=models.CheckConstraint(
                condition=models.Q(("extent", ""), models.Q(("given", True), ("kind", "board")), _connector="OR"),
                name="consent_extent_of_board",
            ),
        ),
        migrations.AddField(
            model_name="emergencycontact",
            name="athlete",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="emergency_contacts", to="athletes.athlete"
            ),
        ),
        migrations.AddField(
            model_name="emergencycontact",
            name="entered_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="emergencycontact",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="erasure",
            name="done_by",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="erasure",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="erasurerequest",
            name="answered_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="athletes.membership",
            ),
        ),
        migrations.AddField(
            model_name="erasurerequest",
            name="asked_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="erasurerequest",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="erasurerequest",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="erasure_requests", to="athletes.person"
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="athlete",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="invitations",
                to="athletes.athlete",
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="became",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="athletes.membership",
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="invitation",
            name="made_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="invitations", to="athletes.person"
            ),
        ),
        migrations.AddField(
            model_name="privatelink",
            name="athlete",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="private_links", to="athletes.athlete"
            ),
        ),
        migrations.AddField(
            model_name="privatelink",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="privatelink",
            name="made_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="screening",
            name="athlete",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="screenings", to="athletes.athlete"
            ),
        ),
        migrations.AddField(
            model_name="screening",
            name="entered_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="screening",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddField(
            model_name="skinnote",
            name="athlete",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="skin_notes", to="athletes.athlete"
            ),
        ),
        migrations.AddField(
            model_name="skinnote",
            name="entered_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.membership"
            ),
        ),
        migrations.AddField(
            model_name="skinnote",
            name="gym",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
        ),
        migrations.AddConstraint(
            model_name="erasurerequest",
            constraint=models.UniqueConstraint(
                condition=models.Q(("answer", "")), fields=("gym", "person"), name="erasure_asked_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="erasurerequest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("answer", ""), ("answered_at", None)),
                    models.Q(models.Q(("answer", ""), _negated=True), ("answered_at__isnull", False)),
                    _connector="OR",
                ),
                name="erasure_answer_has_its_time",
            ),
        ),
        migrations.AddIndex(
            model_name="invitation",
            index=models.Index(fields=["gym", "made_at"], name="invitation_by_time"),
        ),
        migrations.AddConstraint(
            model_name="invitation",
            constraint=models.CheckConstraint(
                condition=models.Q(("until_at__gt", models.F("made_at"))), name="invitation_lasts"
            ),
        ),
        migrations.AddConstraint(
            model_name="invitation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("athlete__isnull", False), ("role__in", ["athlete", "guardian"])),
                    models.Q(("athlete", None), ("role__in", ["owner", "coach"])),
                    _connector="OR",
                ),
                name="invitation_athlete_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="invitation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("became", None), ("used_at", None)),
                    models.Q(("became__isnull", False), ("used_at__isnull", False)),
                    _connector="OR",
                ),
                name="invitation_used_by_somebody",
            ),
        ),
        migrations.AddIndex(
            model_name="privatelink",
            index=models.Index(fields=["gym", "athlete"], name="private_link_of_athlete"),
        ),
        migrations.AddConstraint(
            model_name="privatelink",
            constraint=models.CheckConstraint(
                condition=models.Q(("until_at__gt", models.F("made_at"))), name="private_link_lasts"
            ),
        ),
        migrations.AddIndex(
            model_name="screening",
            index=models.Index(fields=["gym", "athlete"], name="screening_of_athlete"),
        ),
        migrations.AddConstraint(
            model_name="screening",
            constraint=models.CheckConstraint(
                condition=models.Q(("expires_on", None), ("expires_on__gte", models.F("done_on")), _connector="OR"),
                name="screening_ends_later",
            ),
        ),
        migrations.AddIndex(
            model_name="skinnote",
            index=models.Index(fields=["gym", "athlete", "until_on"], name="skin_note_of_athlete"),
        ),
    ]
