"""The team that a shift needs, written once; and calendar feeds."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


def person():
    return models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)


def key():
    return models.UUIDField(default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False)


class Migration(migrations.Migration):
    dependencies = (("desk", "0004_written_once"), migrations.swappable_dependency(settings.AUTH_USER_MODEL))
    operations = (
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                ("id", key()),
                ("proof", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(null=True)),
                ("by", person()),
            ],
        ),
        migrations.CreateModel(
            name="TeamNeedVersion",
            fields=[
                ("id", key()),
                ("need", models.JSONField()),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                ("by", person()),
            ],
            options={"ordering": ("-at", "-id")},
        ),
        written_once("desk_teamneedversion"),
    )
