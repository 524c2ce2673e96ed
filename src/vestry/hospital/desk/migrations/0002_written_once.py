"""Triggers: rows that are written once are neither changed nor deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = ("desk_policyversion", "desk_namedoverride", "desk_procedureversion", "desk_retirement", "desk_laterassurance")


class Migration(migrations.Migration):
    dependencies = (("desk", "0001_initial"),)
    operations = (written_once(*TABLES),)
