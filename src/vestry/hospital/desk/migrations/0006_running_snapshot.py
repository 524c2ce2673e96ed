"""The texts of operations and standards, by digest; no row is changed or deleted."""

from django.db import migrations, models

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("desk", "0005_ready"),)
    operations = (
        migrations.CreateModel(
            name="RunningSnapshot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("sort", models.CharField(max_length=12)),
                ("digest", models.CharField(max_length=64)),
                ("ours", models.JSONField()),
                ("overlays", models.JSONField()),
                ("at", models.DateTimeField()),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("sort", "digest"), name="one_snapshot_of_a_digest")],
            },
        ),
        written_once("desk_runningsnapshot"),
    )
