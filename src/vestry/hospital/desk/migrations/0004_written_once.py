"""Triggers for the rows of 0003; those of the later assurance again, since changing its columns made the table anew."""

from django.db import migrations

from vestry.hospital.keeping import written_once

TABLES = (
    "desk_approvalbasis",
    "desk_factssnapshot",
    "desk_factsversion",
    "desk_caserow",
    "desk_practice",
    "desk_laterassurance",
)


class Migration(migrations.Migration):
    dependencies = (("desk", "0003_procedures"),)
    operations = (written_once(*TABLES),)
