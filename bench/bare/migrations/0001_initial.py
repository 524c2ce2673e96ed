"""The table of the bare row."""

from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    operations = (
        migrations.CreateModel(
            "BareRow",
            [
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                ("said", models.JSONField()),
                ("at", models.DateTimeField()),
            ],
        ),
    )
