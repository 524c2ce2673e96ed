"""Procedures: plans that the unit has approved, their versions, what a changed fact touches, and their answers."""

from vestry.procedure.again import Again, again
from vestry.procedure.answering import Happened, answer
from vestry.procedure.approved import Answer, Approval, Approved, NotWhole, Scene
from vestry.procedure.differences import Differences, differences
from vestry.procedure.leading import answers_of, own_scenes, recovery_scenes, scenes_of
from vestry.procedure.standing import Standing, standing
from vestry.procedure.used import Touched, touched, used

__all__ = [
    "Again",
    "Answer",
    "Approval",
    "Approved",
    "Differences",
    "Happened",
    "NotWhole",
    "Scene",
    "Standing",
    "Touched",
    "again",
    "answer",
    "answers_of",
    "differences",
    "own_scenes",
    "recovery_scenes",
    "scenes_of",
    "standing",
    "touched",
    "used",
]
