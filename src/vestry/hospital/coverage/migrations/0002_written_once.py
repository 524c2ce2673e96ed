"""Triggers for the rows that are written once."""

from django.db import migrations

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("coverage", "0001_initial"),)
    operations = (written_once("coverage_rotaversion", "coverage_rosteract"),)
