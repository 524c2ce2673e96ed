"""People: who is on the register, what they are able, cleared and fitted for, and who can go in now."""

from vestry.people.fit import Judged, harmonic_mean, judge, overall_factor
from vestry.people.going_in import (
    InSize,
    May,
    Need,
    OnShelf,
    Reason,
    WhoCanGoIn,
    ensemble_of,
    need_of,
    practised_on_shift,
    who_can_go_in,
)
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
    "Absence",
    "Clearance",
    "Competency",
    "Exercise",
    "FitTest",
    "GloveFit",
    "Hand",
    "InSize",
    "Judged",
    "May",
    "Need",
    "OffTheTable",
    "OnShelf",
    "Person",
    "Reason",
    "Tried",
    "WhoCanGoIn",
    "ensemble_of",
    "glove_size",
    "gowns_long_enough",
    "harmonic_mean",
    "judge",
    "mid_calf_length",
    "need_of",
    "overall_factor",
    "practised_on_shift",
    "reaches_mid_calf",
    "sizes_of_width",
    "who_can_go_in",
]
