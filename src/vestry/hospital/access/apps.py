from django.apps import AppConfig


class AccessConfig(AppConfig):
    name = "vestry.hospital.access"
    label = "access"
    verbose_name = "People and roles"

    def ready(self) -> None:
        from vestry.hospital.access import checks  # noqa: F401  it registers itself
