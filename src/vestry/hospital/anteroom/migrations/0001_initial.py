import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids


class Migration(migrations.Migration):
    initial = True
    dependencies = (
        ("record", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )
    operations = (
        migrations.CreateModel(
            name="Badge",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("badge", models.CharField(db_index=True, max_length=40)),
                ("pin_hash", models.CharField(max_length=200)),
                ("offline_salt", models.CharField(max_length=32)),
                ("offline_rounds", models.PositiveIntegerField()),
                ("offline_hash", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="badges", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-pk"),
            },
        ),
        migrations.CreateModel(
            name="EnrolmentCode",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("name", models.CharField(max_length=60)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Tablet",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("name", models.CharField(max_length=60)),
                ("token_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                (
                    "code",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="tablet", to="anteroom.enrolmentcode"
                    ),
                ),
            ],
            options={
                "ordering": ("-at",),
            },
        ),
        migrations.CreateModel(
            name="Identified",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("token_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "tablet",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="anteroom.tablet"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Carrying",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="carried", to="record.entry"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "tablet",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="anteroom.tablet"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="TabletRevoked",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                ("reason", models.TextField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "tablet",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="revocation", to="anteroom.tablet"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
    )
