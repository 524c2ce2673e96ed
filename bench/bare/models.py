"""A row with what was sent."""

from django.db import models


class BareRow(models.Model):
    """What was sent, and when."""

    said = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        app_label = "bare"

    def __str__(self) -> str:
        return f"{self.pk}"
