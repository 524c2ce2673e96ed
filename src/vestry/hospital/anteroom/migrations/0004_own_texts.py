"""The unit's own texts beside the steps, by version; no row is changed or deleted."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (
        ("anteroom", "0003_wearer_link"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )
    operations = (
        migrations.CreateModel(
            name="OwnTextVersion",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(db_index=True, max_length=30)),
                ("number", models.PositiveIntegerField()),
                ("lines", models.JSONField()),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("name", "-number"),
                "constraints": [models.UniqueConstraint(fields=("name", "number"), name="one_own_text_of_a_number")],
            },
        ),
        written_once("anteroom_owntextversion"),
    )
