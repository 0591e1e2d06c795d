from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0007_measures_for_bars"),
    ]

    operations = [
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
                    ("login", "a log-in of their own"),
                ],
                max_length=12,
            ),
        ),
    ]
