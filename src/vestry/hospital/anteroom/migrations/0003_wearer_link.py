"""Secret addresses of wearer's screens, written once."""

import django.db.models.deletion
from django.db import migrations, models

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("anteroom", "0002_written_once"), ("record", "0001_initial"))
    operations = (
        migrations.CreateModel(
            name="WearerLink",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("secret_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                ("until", models.DateTimeField()),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="wearer_links", to="record.entry"
                    ),
                ),
                (
                    "tablet",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="anteroom.tablet"
                    ),
                ),
            ],
            options={"abstract": False},
        ),
        written_once("anteroom_wearerlink"),
    )
