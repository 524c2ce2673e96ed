"""Triggers: no row of calls, lists, outsiders and overrides is changed or deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = (
    "call_call", "call_callline", "call_unitlistversion", "call_outsider", "call_entryoverride", "call_overrideused",
)  # fmt: skip


class Migration(migrations.Migration):
    dependencies = (("call", "0002_override_used"),)
    operations = (written_once(*TABLES),)
