from django.apps import AppConfig


class CoverageConfig(AppConfig):
    name = "vestry.hospital.coverage"
    label = "coverage"
