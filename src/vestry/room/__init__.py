"""Rooms and what is done in them: air, disinfectant, checks, waste, and turning a room around.

air_changes, clearance, relevance    how long until the air is clear, and whether that matters for this hazard
mix, read_recipe                     disinfectant from liquid, powder or tablets; what a written recipe comes to
checked                              a reading of a room against its limits
routed, amounts                      where waste goes, how it is packed, how much of it there is
fold_bags                            bags on hold, from their events
turned_around                        from the last exit to ready, as a timeline
"""

from vestry.room.air import AirRefused, Clearance, Relevance, air_changes, clearance, relevance, remaining

__all__ = ["AirRefused", "Clearance", "Relevance", "air_changes", "clearance", "relevance", "remaining"]
