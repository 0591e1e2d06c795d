import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import gymtrack.lib.ids


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0005_tablets_and_guests"),
        ("skills", "0003_first_step_versions"),
    ]

    operations = [
        migrations.AddField(
            model_name="attempt",
            name="doubt",
            field=models.CharField(blank=True, max_length=10),
        ),
        migrations.CreateModel(
            name="FloorAct",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=gymtrack.lib.ids.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("happened_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("kind", models.CharField(max_length=10)),
                ("digest", models.CharField(max_length=64)),
                ("device_at", models.DateTimeField()),
                ("offset_ms", models.BigIntegerField()),
                (
                    "gym",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="athletes.gym"),
                ),
                (
                    "hand_over",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="acts", to="athletes.handover"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
    ]
