"""A sentence of the core in the language of the page."""

from __future__ import annotations

from django import template
from django.utils.translation import gettext

from vestry.trade.told import told_in

register = template.Library()


@register.filter(name="told")
def in_this_language(sentence: str) -> str:
    """What is told apart (vestry.trade.told), translated; any other text as it is."""
    return told_in(sentence, gettext)
