"""Vestry: from the case at hand to a dressed, watched, undressed and accounted-for colleague."""

__version__ = "0.1.0"
