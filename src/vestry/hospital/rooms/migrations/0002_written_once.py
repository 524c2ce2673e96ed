"""Triggers: no row of rooms is changed or deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = ("rooms_roomversion", "rooms_roomcheck", "rooms_madeup", "rooms_baghappened")


class Migration(migrations.Migration):
    dependencies = (("rooms", "0001_initial"),)
    operations = (written_once(*TABLES),)
