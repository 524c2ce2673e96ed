"""Who looks at somebody's page, and so what they see of it."""

from __future__ import annotations

import uuid

from django.http import Http404
from django.utils import timezone

from vestry.hospital.access.models import User
from vestry.hospital.registers.models import HealthRead, RegisteredPerson
from vestry.hospital.writing import writing
from vestry.people.may import Viewer


def viewer_of(user: User, person: RegisteredPerson | None = None) -> Viewer:
    """As what this user looks at this person, or at everyone."""
    if person is not None and person.user_id == user.pk:
        return "person"
    if "occupational-health" in user.roles:
        return "health"
    return "lead" if user.may("see-register") else "observer"


def person_seen_by(user: User, key: uuid.UUID) -> tuple[RegisteredPerson, Viewer]:
    """Somebody whose page this user may see. Whoever is not theirs to see is not there."""
    person = RegisteredPerson.objects.select_related("user").filter(pk=key).first()
    if person is None:
        raise Http404
    viewer = viewer_of(user, person)
    if viewer == "observer":
        raise Http404
    return person, viewer


def sees_measures(user: User, viewer: Viewer) -> bool:
    """Body measures are for the person, for health and for whoever keeps the register."""
    return viewer in ("person", "health") or user.may("edit-register")


def note_read(user: User, person: RegisteredPerson, viewer: Viewer) -> None:
    """Write down that health data was read. One's own is not written down."""
    if viewer == "health":
        with writing():
            HealthRead.objects.create(person=person, by=user, at=timezone.now())
