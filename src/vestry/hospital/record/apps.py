from django.apps import AppConfig


class RecordConfig(AppConfig):
    name = "vestry.hospital.record"
    label = "record"
