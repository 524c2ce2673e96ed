"""The app of the bare row."""

from django.apps import AppConfig


class BareConfig(AppConfig):
    name = "bench.bare"
    label = "bare"
