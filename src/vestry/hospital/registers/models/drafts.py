"""A file that was handed in and looked at, before it is taken or dropped."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7


class ImportDraft(models.Model):
    """The rows of a file as text, and who handed it in. It is dropped once it was taken, or a day later."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    sort = models.CharField(max_length=20)
    file_name = models.CharField(max_length=120)
    date_order = models.CharField(max_length=12)
    rows = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.file_name
