from django.apps import AppConfig


class RegistersConfig(AppConfig):
    name = "vestry.hospital.registers"
    label = "registers"

    def ready(self) -> None:
        from vestry.hospital.record.closing import WHEN_OVER
        from vestry.hospital.registers.posting import post_quietly

        if post_quietly not in WHEN_OVER:
            WHEN_OVER.append(post_quietly)
