from django.apps import AppConfig


class AnteroomConfig(AppConfig):
    name = "vestry.hospital.anteroom"
    label = "anteroom"
