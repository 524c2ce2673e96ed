"""Walls that show the board without a sign-in. All rows are written once."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import vestry.hospital.ids
from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (
        ("board", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )

    operations = (
        migrations.CreateModel(
            name="WallCode",
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
            name="Wall",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=vestry.hospital.ids.uuid7, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("secret_hash", models.CharField(max_length=64, unique=True)),
                ("at", models.DateTimeField()),
                (
                    "code",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="wall", to="board.wallcode"
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-id"),
            },
        ),
        migrations.CreateModel(
            name="WallEnded",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "wall",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="ended", to="board.wall"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="WallOpened",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("address", models.CharField(max_length=45)),
                ("at", models.DateTimeField()),
                (
                    "wall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="opened", to="board.wall"
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-pk"),
            },
        ),
        written_once("board_wallcode", "board_wall", "board_wallended", "board_wallopened"),
    )
