from django.apps import AppConfig


class CallConfig(AppConfig):
    name = "vestry.hospital.call"
    label = "call"
