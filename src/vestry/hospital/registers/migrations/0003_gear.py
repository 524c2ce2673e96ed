"""What was scanned onto somebody in an entry; written once, held by triggers. On whom a movement was."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (
        ("record", "0002_written_once"),
        ("registers", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.AddField(
            model_name="stockmovement",
            name="part",
            field=models.CharField(max_length=12, null=True),
        ),
        migrations.CreateModel(
            name="EntryGear",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("part", models.CharField(max_length=12)),
                ("item", models.CharField(max_length=120)),
                ("quantity", models.PositiveIntegerField(default=1)),
                ("code", models.CharField(max_length=500)),
                ("troubles", models.JSONField()),
                ("decided_by", models.CharField(blank=True, max_length=120)),
                ("reason", models.CharField(blank=True, max_length=500)),
                ("late", models.BooleanField(default=False)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="gear", to="record.entry"
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="gear",
                        to="registers.stocklot",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="gear",
                        to="registers.stockunit",
                    ),
                ),
            ],
            options={
                "ordering": ("at", "id"),
            },
        ),
        migrations.CreateModel(
            name="EntryGearBack",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "gear",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="back", to="registers.entrygear"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        written_once("registers_entrygear", "registers_entrygearback"),
    )
