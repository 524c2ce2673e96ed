"""First-aid texts of the invented hospital. They are there to show the screens, and say so: not to be followed."""

from __future__ import annotations

from datetime import datetime

from vestry.hospital.access.models import User
from vestry.hospital.record.models import FirstAidVersion

_INVENTED = "Then do what the unit's own text says: this one is invented."
TEXTS = {
    "sharps": f"Hands still. Go with the observer to the basin.\n{_INVENTED}",
    "splash": f"Do not touch the face. Go with the observer to the eyewash.\n{_INVENTED}",
    "broken-skin": f"Hands still. Show the observer the place.\n{_INVENTED}",
    "intact-skin": f"Hands still. Show the observer the place.\n{_INVENTED}",
    "lost-air": f"Go to the door at once. Say: lost air.\n{_INVENTED}",
    "call": "Shift lead: extension 0000, invented.\nOccupational health on call: extension 0001, invented.",
}


def fill(lead: User, now: datetime) -> None:
    """One version of each."""
    for kind, text in TEXTS.items():
        FirstAidVersion.objects.create(
            kind=kind, text=text, reason="Invented for demonstration: not to be followed.", by=lead, at=now
        )
