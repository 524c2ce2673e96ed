"""Failed sign-ins are counted by name and by address, and further ones refused for a while."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.http import HttpRequest

from vestry.hospital.access.models import FailedSignIn
from vestry.hospital.writing import writing

WINDOW = timedelta(minutes=15)
BY_NAME = 6
BY_ADDRESS = 30


def address_of(request: HttpRequest) -> str:
    """From where a request comes, as the server sees it."""
    return str(request.META.get("REMOTE_ADDR", ""))[:45]


def too_many(sign_in: str, address: str, now: datetime) -> bool:
    """Whether this name, or this address, has failed too often of late."""
    recent = FailedSignIn.objects.filter(at__gt=now - WINDOW)
    return recent.filter(sign_in=sign_in).count() >= BY_NAME or recent.filter(address=address).count() >= BY_ADDRESS


def too_many_from(address: str, now: datetime) -> bool:
    """The same where nobody said a name: by the address alone."""
    return FailedSignIn.objects.filter(at__gt=now - WINDOW, address=address).count() >= BY_ADDRESS


def failed(sign_in: str, address: str, now: datetime) -> None:
    with writing():
        FailedSignIn.objects.filter(at__lt=now - 4 * WINDOW).delete()
        FailedSignIn.objects.create(sign_in=sign_in, address=address, at=now)


def succeeded(sign_in: str) -> None:
    if FailedSignIn.objects.filter(sign_in=sign_in).exists():
        with writing():
            FailedSignIn.objects.filter(sign_in=sign_in).delete()
