"""Readings of heat, and how warm procedures are; written once, held by triggers."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (
        ("rooms", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.CreateModel(
            name="HeatGear",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("procedure", models.SlugField(max_length=120)),
                ("metabolic", models.DecimalField(decimal_places=3, max_digits=7)),
                ("impermeable", models.BooleanField()),
                ("clothing", models.DecimalField(decimal_places=3, max_digits=5, null=True)),
                ("permeability", models.DecimalField(decimal_places=3, max_digits=5, null=True)),
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
                "ordering": ("-at", "-id"),
            },
        ),
        migrations.CreateModel(
            name="HeatFound",
            fields=[
                ("key", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("found", models.JSONField(null=True)),
                ("reasons", models.JSONField()),
                ("at", models.DateTimeField()),
            ],
            options={"abstract": False},
        ),
        migrations.CreateModel(
            name="HeatReading",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("code", models.SlugField(max_length=40)),
                ("air", models.DecimalField(decimal_places=3, max_digits=6)),
                ("humidity", models.DecimalField(decimal_places=3, max_digits=6)),
                ("speed", models.DecimalField(decimal_places=3, max_digits=6)),
                ("radiant", models.DecimalField(decimal_places=3, max_digits=6, null=True)),
                ("written", models.CharField(max_length=120)),
                ("note", models.TextField(blank=True)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-id"),
                "indexes": [models.Index(fields=["code", "at"], name="heat_reading_code")],
            },
        ),
        written_once("rooms_heatreading", "rooms_heatgear", "rooms_heatfound"),
    )
