from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "vestry.hospital.rooms"
    label = "rooms"
