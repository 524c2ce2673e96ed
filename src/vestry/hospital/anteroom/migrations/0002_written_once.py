"""Rows of the tablets are neither changed nor deleted."""

from __future__ import annotations

from django.db import migrations

from vestry.hospital.keeping import written_once


class Migration(migrations.Migration):
    dependencies = (("anteroom", "0001_initial"),)
    operations = (
        written_once(
            "anteroom_enrolmentcode",
            "anteroom_tablet",
            "anteroom_tabletrevoked",
            "anteroom_badge",
            "anteroom_identified",
            "anteroom_carrying",
        ),
    )
