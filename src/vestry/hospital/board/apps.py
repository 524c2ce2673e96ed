from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "vestry.hospital.board"
    label = "board"
