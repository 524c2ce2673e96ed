"""The drawn person: what is worn, what may be contaminated, where to grasp, what not to touch."""

from vestry.figure.compose import compose, stylesheet
from vestry.figure.strip import Touching, strip
from vestry.figure.view import FigureView, on_the_person, side_for
from vestry.figure.wardrobe import UnknownItem

__all__ = ["FigureView", "Touching", "UnknownItem", "compose", "on_the_person", "side_for", "strip", "stylesheet"]
