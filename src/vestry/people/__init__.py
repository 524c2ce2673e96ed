"""People: who is on the register, what they are able, cleared and fitted for, and who can go in now."""

from vestry.people.fit import Judged, harmonic_mean, judge, overall_factor
from vestry.people.going_in import ensemble_of, need_of, practised_on_shift, who_can_go_in
from vestry.people.may import (
    InSize,
    May,
    Need,
    OnShelf,
    Reason,
    WhoCanGoIn,
)
from vestry.people.notes import NOTE_KINDS, SHAPES, Identity, Measures, Note, Withdrawn, person_of, read_note, standing
from vestry.people.sizes import (
    GloveFit,
    OffTheTable,
    glove_size,
    gowns_long_enough,
    mid_calf_length,
    reaches_mid_calf,
    sizes_of_width,
)
from vestry.people.values import Absence, Clearance, Competency, Exercise, FitTest, Hand, Person, Tried

__all__ = [
    "NOTE_KINDS",
    "SHAPES",
    "Absence",
    "Clearance",
    "Competency",
    "Exercise",
    "FitTest",
    "GloveFit",
    "Hand",
    "Identity",
    "InSize",
    "Judged",
    "May",
    "Measures",
    "Need",
    "Note",
    "OffTheTable",
    "OnShelf",
    "Person",
    "Reason",
    "Tried",
    "WhoCanGoIn",
    "Withdrawn",
    "ensemble_of",
    "glove_size",
    "gowns_long_enough",
    "harmonic_mean",
    "judge",
    "mid_calf_length",
    "need_of",
    "overall_factor",
    "person_of",
    "practised_on_shift",
    "reaches_mid_calf",
    "read_note",
    "sizes_of_width",
    "standing",
    "who_can_go_in",
]
