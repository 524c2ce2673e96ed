"""From an order to its delivery, by item; written once, held by triggers."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (
        ("registers", "0003_gear"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.CreateModel(
            name="StockLeadTime",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("item", models.CharField(blank=True, max_length=120)),
                ("hours", models.PositiveIntegerField(null=True)),
                ("says", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("at", "id"),
            },
        ),
        written_once("registers_stockleadtime"),
    )
