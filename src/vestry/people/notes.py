"""The register is kept as notes that are written once; what somebody is now is their fold.

1. Notes count in order of time, those of one moment in order of id, each once.
2. The latest word on identity, on measures, and on one size tried on, holds. Competencies, clearances, fit tests and
   absences stand side by side.
3. A note that was withdrawn counts as never written; it stays in the record.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from vestry.people.values import Absence, Clearance, Competency, Duty, FitTest, Hand, Person, Tried
from vestry.trade.values import Value

NoteKind = Literal["identity", "competency", "clearance", "fit-test", "measures", "tried", "absence", "withdrawn"]
NOTE_KINDS: tuple[NoteKind, ...] = get_args(NoteKind)
ABOUT_HEALTH: frozenset[NoteKind] = frozenset({"clearance"})


class Identity(Value):
    """For which parts somebody is on the register, and whether still."""

    duties: tuple[Duty, ...] = ("wearer",)
    active: bool = True


class Measures(Value):
    """What was measured of somebody; None: not measured."""

    hand: Hand | None = None
    height_mm: int | None = None


class Withdrawn(Value):
    """A note that is taken back, by its id, and why."""

    note: str
    why: str = ""


SHAPES: Mapping[NoteKind, type[Value]] = {
    "identity": Identity,
    "competency": Competency,
    "clearance": Clearance,
    "fit-test": FitTest,
    "measures": Measures,
    "tried": Tried,
    "absence": Absence,
    "withdrawn": Withdrawn,
}


@dataclass(frozen=True)
class Note:
    """One note of one person. `said` is of the shape that its kind has."""

    id: str
    kind: NoteKind
    said: Value
    at: str


def read_note(key: str, kind: str, said: Mapping[str, Any], at: str) -> Note:
    """The note in a stored row. ValueError for a kind that is not known, ValidationError for what does not fit it."""
    known = next((one for one in NOTE_KINDS if one == kind), None)
    if known is None:
        raise ValueError(f"no kind of note is called {kind}")
    return Note(key, known, SHAPES[known].model_validate(said), at)


def standing(notes: Iterable[Note]) -> tuple[Note, ...]:
    """The notes that count, in order of time."""
    unique = {one.id: one for one in notes}
    gone = {one.said.note for one in unique.values() if isinstance(one.said, Withdrawn)}
    return tuple(
        sorted(
            (one for one in unique.values() if one.id not in gone and one.kind != "withdrawn"),
            key=lambda one: (one.at, one.id),
        )
    )


def person_of(key: str, notes: Iterable[Note]) -> Person:
    """What these notes come to for one person."""
    said = [one.said for one in standing(notes)]
    identity = [one for one in said if isinstance(one, Identity)]
    measures = [one for one in said if isinstance(one, Measures)]
    last, measured = (identity or [Identity()])[-1], (measures or [Measures()])[-1]
    tried = {one.what: one for one in said if isinstance(one, Tried)}
    return Person(
        id=key,
        duties=last.duties,
        active=last.active,
        competencies=tuple(one for one in said if isinstance(one, Competency)),
        clearances=tuple(one for one in said if isinstance(one, Clearance)),
        fit_tests=tuple(one for one in said if isinstance(one, FitTest)),
        hand=measured.hand,
        height_mm=measured.height_mm,
        tried=tuple(tried[what] for what in sorted(tried)),
        absences=tuple(one for one in said if isinstance(one, Absence)),
    )
