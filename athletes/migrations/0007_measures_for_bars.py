from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0006_people_and_safety"),
    ]

    operations = [
        migrations.AddField(
            model_name="bodymeasure",
            name="armpit_m",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True),
        ),
        migrations.AddField(
            model_name="bodymeasure",
            name="chest_m",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True),
        ),
        migrations.AddField(
            model_name="bodymeasure",
            name="reach_m",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=4, null=True),
        ),
    ]
