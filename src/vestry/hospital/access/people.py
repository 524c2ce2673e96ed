"""Who is visiting, and who can be asked to do what."""

from __future__ import annotations

from typing import cast

from django.db.models import QuerySet
from django.http import HttpRequest

from vestry.hospital.access.models import User


def visitor(request: HttpRequest) -> User:
    """The person who is signed in. The door has let them in, so there is one."""
    return cast(User, request.user)


def with_role(*roles: str) -> QuerySet[User]:
    """Those who may sign in and have one of these roles."""
    return User.objects.filter(is_active=True, grants__role__in=roles).distinct().order_by("name")
