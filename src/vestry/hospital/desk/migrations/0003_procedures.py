"""Own facts, what an approval rests on, the table from case to procedure, practice."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids


class Migration(migrations.Migration):
    dependencies = (
        ("desk", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.CreateModel(
            name="FactsSnapshot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("ours", models.JSONField()),
                ("overlays", models.JSONField()),
                ("at", models.DateTimeField()),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.AlterModelOptions(
            name="laterassurance",
            options={"ordering": ("-at", "-pk")},
        ),
        migrations.AddField(
            model_name="laterassurance",
            name="found",
            field=models.JSONField(null=True),
        ),
        migrations.AlterField(
            model_name="laterassurance",
            name="assurance",
            field=models.JSONField(null=True),
        ),
        migrations.CreateModel(
            name="ApprovalBasis",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("used", models.JSONField()),
                ("program", models.JSONField()),
                (
                    "version",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="basis", to="desk.procedureversion"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="FactsVersion",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("number", models.PositiveIntegerField(unique=True)),
                ("files", models.JSONField()),
                ("digest", models.CharField(max_length=64)),
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
                "ordering": ("-number",),
            },
        ),
        migrations.CreateModel(
            name="Practice",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("role", models.CharField(max_length=12)),
                ("sort", models.CharField(max_length=5)),
                ("on", models.DateField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="practice",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="practice", to="desk.procedureversion"
                    ),
                ),
            ],
            options={
                "ordering": ("-on", "-at"),
            },
        ),
        migrations.CreateModel(
            name="CaseRow",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("hazard", models.CharField(max_length=120)),
                ("presentation", models.CharField(max_length=10)),
                ("task", models.CharField(max_length=40)),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rows",
                        to="desk.procedureversion",
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-id"),
                "indexes": [models.Index(fields=["hazard", "presentation", "task"], name="case_row_cell")],
            },
        ),
    )
