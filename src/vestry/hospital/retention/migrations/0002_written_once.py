"""Triggers: these rows are written once, and rows of others may go once a confirmed removal names them."""

from django.db import migrations

from vestry.hospital.keeping import emptied_once_named, let_go_once_named, written_once

TABLES = ("policy", "policyconfirmed", "legalhold", "holdlifted", "proposal", "removal", "letgo")
KEPT = (
    "sequence", "client_id", "entry_id", "kind", "device", "device_clock", "device_counter", "plan_hash", "server_time",
    "commitment", "device_previous", "link", "previous", "hash",
)  # fmt: skip


class Migration(migrations.Migration):
    dependencies = (
        ("retention", "0001_initial"),
        ("record", "0004_entry_call"),
        ("registers", "0003_gear"),
        ("anteroom", "0003_wearer_link"),
    )
    operations = (
        written_once(*(f"retention_{one}" for one in TABLES)),
        emptied_once_named("record_event", "sequence", KEPT, {"salt": "NULL", "actor": "''", "payload": "'{}'"}),
        let_go_once_named(
            "record_recordread",
            "registers_healthread",
            "registers_personnote",
            "registers_absencereason",
            "anteroom_identified",
            "anteroom_wearerlink",
            "anteroom_enrolmentcode",
            "anteroom_badge",
        ),
    )
