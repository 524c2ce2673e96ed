"""Triggers: no row of the board is changed or deleted, whoever asks."""

from django.db import migrations

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("board", "0001_initial"),)
    operations = (written_once("board_boardchoice", "board_caseconfirmed"),)
