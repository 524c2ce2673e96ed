from django.apps import AppConfig


class RetentionConfig(AppConfig):
    name = "vestry.hospital.retention"
    label = "retention"
