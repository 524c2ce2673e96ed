"""Salted commitments and devices' chains, rooms, what lists need, and who read what. The chain begins anew here."""

import secrets

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from vestry.entry.chains import FIRST, commitment_of, hash_of
from vestry.hospital.keeping import written_once

EVENTS = written_once("record_event")


def chain_anew(apps, editor):
    """Events from before had a hash over what they say, which no purge would leave standing."""
    previous = FIRST
    rows = apps.get_model("record", "Event")
    for row in rows.objects.order_by("sequence").iterator():
        row.salt = secrets.token_hex(16)
        said = {
            "id": str(row.client_id), "entry": str(row.entry_id), "kind": row.kind, "payload": row.payload,
            "actor": row.actor, "device": str(row.device), "clock": row.device_clock, "counter": row.device_counter,
            "plan": row.plan_hash,
        }  # fmt: skip
        row.commitment = commitment_of(row.salt, said)
        row.previous = previous
        row.hash = previous = hash_of(row.sequence, previous, row.server_time, row.commitment, None)
        row.save()


def _nothing(apps, editor):
    """The hashes stay as they are: they were made anew once already."""


def _text(length):
    return models.CharField(max_length=length, null=True)


def _count():
    return models.PositiveIntegerField(default=0)


_KEY = ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"))


def _person():
    return models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)


class Migration(migrations.Migration):
    dependencies = (
        ("record", "0002_written_once"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    )
    operations = (
        migrations.AddField("entry", "room", models.SlugField(blank=True, default="", max_length=40), False),
        migrations.AddField("entry", "entered_at", models.DateTimeField(null=True)),
        migrations.AddField("entry", "left_at", models.DateTimeField(null=True)),
        migrations.AddField("entry", "deviations", _count()),
        migrations.AddField("entry", "exposures", _count()),
        migrations.AddField("entry", "contradictions", _count()),
        migrations.AddField("entry", "late", models.BooleanField(default=False)),
        migrations.AddIndex("entry", models.Index(fields=["-created_at"], name="entry_created")),
        migrations.AddField("event", "salt", _text(32)),
        migrations.AddField("event", "commitment", _text(64)),
        migrations.AddField("event", "device_previous", _text(64)),
        migrations.AddField("event", "link", _text(64)),
        migrations.RunPython(EVENTS.reverse_code or _nothing, EVENTS.code),
        migrations.RunPython(chain_anew, _nothing),
        migrations.RunPython(EVENTS.code, EVENTS.reverse_code),
        migrations.CreateModel(
            name="RecordRead",
            fields=[
                _KEY,
                ("what", models.CharField(max_length=20)),
                ("at", models.DateTimeField()),
                ("by", _person()),
                (
                    "entry",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reads",
                        to="record.entry",
                    ),
                ),
            ],
            options={"ordering": ("-at", "-pk")},
        ),
        migrations.CreateModel(
            name="ExposureTaken",
            fields=[
                _KEY,
                ("at", models.DateTimeField()),
                ("by", _person()),
                (
                    "event",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="taken", to="record.event"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="FirstAidVersion",
            fields=[
                _KEY,
                ("kind", models.CharField(db_index=True, max_length=20)),
                ("text", models.TextField()),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                ("by", _person()),
            ],
            options={"ordering": ("-at", "-pk")},
        ),
        written_once("record_recordread", "record_exposuretaken", "record_firstaidversion"),
    )
