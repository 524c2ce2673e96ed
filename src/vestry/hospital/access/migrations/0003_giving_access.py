"""Who gives access, with what code, and second factors."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("access", "0002_language"),)

    operations = (
        migrations.CreateModel(
            name="AccessChanged",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("added", "added"),
                            ("roles", "roles changed"),
                            ("ended", "may not sign in any more"),
                            ("again", "may sign in again"),
                            ("code", "new set-up code"),
                            ("password", "password set"),
                            ("factor-set", "second factor set up"),
                            ("factor-ended", "second factor ended"),
                            ("factor-code", "signed in with a spare code"),
                        ],
                        max_length=20,
                    ),
                ),
                ("roles", models.JSONField(default=list)),
                ("reason", models.CharField(blank=True, max_length=400)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="changes", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("-pk",),
            },
        ),
        migrations.CreateModel(
            name="SecondFactor",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("secret", models.CharField(max_length=64)),
                ("spare", models.JSONField(default=list)),
                ("at", models.DateTimeField()),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="factors", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("-pk",),
            },
        ),
        migrations.CreateModel(
            name="SecondFactorEnded",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                (
                    "factor",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="ended", to="access.secondfactor"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="SetUpCode",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="codes", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("-pk",),
            },
        ),
        migrations.CreateModel(
            name="SetUpCodeUsed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                (
                    "code",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="used", to="access.setupcode"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="SecondFactorUsed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
                (
                    "factor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="uses", to="access.secondfactor"
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("factor", "code"), name="one_use_of_a_code")],
            },
        ),
        written_once(
            "access_accesschanged",
            "access_setupcode",
            "access_setupcodeused",
            "access_secondfactor",
            "access_secondfactorended",
            "access_secondfactorused",
        ),
    )
