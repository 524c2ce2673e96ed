"""Rooms and what is done in them: air, disinfectant, checks, waste, and turning a room around.

air_changes, clearance, relevance    how long until the air is clear, and whether that matters for this hazard
read_recipe                          what a written recipe comes to (dilution: what goes into one)
checked, due                         a reading of a room against its limits; whether the next look is due
routed, amounts                      where waste goes, how it is packed, how much of it there is
fold_bags                            bags on hold, from their events
turned_around                        from the last exit to ready, as a timeline
"""

from vestry.room.air import AirRefused, Clearance, Relevance, air_changes, clearance, relevance, remaining
from vestry.room.bags import Bag, BagEvent, fold_bags
from vestry.room.checks import Checked, checked, due
from vestry.room.recipe import read_recipe
from vestry.room.turning import Timeline, turned_around
from vestry.room.waste import amounts, routed

__all__ = [
    "AirRefused",
    "Bag",
    "BagEvent",
    "Checked",
    "Clearance",
    "Relevance",
    "Timeline",
    "air_changes",
    "amounts",
    "checked",
    "clearance",
    "due",
    "fold_bags",
    "read_recipe",
    "relevance",
    "remaining",
    "routed",
    "turned_around",
]
