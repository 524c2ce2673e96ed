"""Triggers: rows that are written once are neither changed nor deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = (
    "registers_personnote",
    "registers_absencereason",
    "registers_healthread",
    "registers_stocklot",
    "registers_stockmovement",
    "registers_stockquarantine",
    "registers_stockreserve",
    "registers_stockunit",
    "registers_stockunitevent",
    "registers_entryposting",
)


class Migration(migrations.Migration):
    dependencies = (("registers", "0001_initial"),)
    operations = (written_once(*TABLES),)
