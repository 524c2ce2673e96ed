"""Names of people on a roster: for those who answer for shifts; others read staff codes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from django.http import HttpRequest

from vestry.hospital.access.people import visitor
from vestry.hospital.registers.models import RegisteredPerson
from vestry.roster import Roster


@dataclass(frozen=True)
class Names:
    """Staff code to name; without any, codes are told."""

    told: Mapping[str, str]

    def of(self, code: str) -> str:
        return self.told.get(code, code)


def names_for(request: HttpRequest) -> Names:
    """All names that this visitor may read; two people of one name are told apart by their codes."""
    if not visitor(request).may("take-roster"):
        return Names({})
    rows = list(RegisteredPerson.objects.values_list("code", "name"))
    count = Counter(name for _, name in rows)
    return Names({code: name if count[name] == 1 else f"{name} ({code})" for code, name in rows})


def named(found: Roster, names: Names) -> Roster:
    """The roster with names in place of codes."""
    closing = found.closing.model_copy(
        update={
            "changes": tuple(
                one.model_copy(update={"person": names.of(one.person)}) if one.person else one
                for one in found.closing.changes
            )
        }
    )
    return found.model_copy(
        update={
            "grid": tuple(
                row.model_copy(update={"people": tuple(sorted(names.of(one) for one in row.people))})
                for row in found.grid
            ),
            "assigned": tuple(one.model_copy(update={"person": names.of(one.person)}) for one in found.assigned),
            "loads": tuple(one.model_copy(update={"person": names.of(one.person)}) for one in found.loads),
            "closing": closing,
        }
    )
