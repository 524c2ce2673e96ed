from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "vestry.hospital.desk"
    label = "desk"
